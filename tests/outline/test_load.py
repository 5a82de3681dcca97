"""The maker's own outline: units, halves, centre line, direction, and what is wrong with a file."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from drawn import BODY, HALF, RING, dxf, polyline, svg, svg_path, turned, with_cutaway
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.outline import Outline, half_width_at, load, polygon, widths


def assert_same(outline: Outline, within_mm: float = 0.02) -> None:
    """The outline is the test body, its curves followed and its points close."""
    assert outline.half_mm[0].tolist() == [0, 0]
    assert outline.half_mm[-1, 0] == 0
    assert outline.half_mm[-1, 1] == pytest.approx(492, abs=within_mm)
    assert np.hypot(*np.diff(outline.half_mm, axis=0).T).max() <= 1 + 1e-9
    assert shapely.Polygon(polygon(outline)).hausdorff_distance(shapely.Polygon(RING)) < within_mm


def test_a_half_as_one_open_polyline(tmp_path: Path) -> None:
    outline = load(dxf(tmp_path / "own.dxf", polyline(HALF)))
    assert_same(outline)
    assert outline.name == "own"
    assert outline.left_half_mm is None


def test_a_half_closed_along_the_centre_line(tmp_path: Path) -> None:
    assert_same(load(dxf(tmp_path / "own.dxf", polyline(HALF, closed=True))))


def test_a_half_closed_that_starts_within_its_straight_side(tmp_path: Path) -> None:
    points = np.concatenate(([[0.0, 200.0]], HALF))
    assert_same(load(dxf(tmp_path / "own.dxf", polyline(points, closed=True))))


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.floats(0, 360), st.booleans(), st.booleans())
def test_however_it_lies_in_the_drawing(tmp_path: Path, angle: float, whole: bool, as_svg: bool) -> None:
    points = turned(RING if whole else HALF, angle, (900.0, -250.0))
    if as_svg:
        outline = load(svg(tmp_path / "own.svg", svg_path(points, closed=whole)))
    else:
        outline = load(dxf(tmp_path / "own.dxf", polyline(points, closed=whole)))
    assert_same(outline)
    assert outline.left_half_mm is None


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_the_files_unit_is_honoured(tmp_path: Path, code: int, mm: float) -> None:
    outline = load(dxf(tmp_path / "own.dxf", polyline(HALF / mm), units=code))
    assert_same(outline)
    assert not any("unit" in warning for warning in outline.warnings)


@pytest.mark.parametrize(("mm", "name"), [(1.0, "mm"), (10.0, "cm"), (25.4, "inch")])
def test_a_unitless_file_takes_the_only_plausible_unit_and_says_so(
    tmp_path: Path, mm: float, name: str
) -> None:
    path = dxf(tmp_path / "own.dxf", polyline(HALF / mm), units=0)
    outline = load(path)
    assert_same(outline)
    assert any(f"taken as {name}" in warning for warning in outline.warnings)
    assert_same(load(path, unit=name))  # type: ignore[arg-type]
    assert not any("taken as" in warning for warning in load(path, unit=name).warnings)  # type: ignore[arg-type]


def test_what_a_person_says_beats_the_file(tmp_path: Path) -> None:
    outline = load(dxf(tmp_path / "own.dxf", polyline(HALF), units=6), unit="mm")
    assert_same(outline)
    assert any("as you said" in warning for warning in outline.warnings)


def test_lines_arcs_and_splines_are_joined_by_their_ends(tmp_path: Path) -> None:
    def draw(space: object) -> None:
        for k, (a, b) in enumerate(pairwise(HALF)):
            ends = (a, b) if k % 3 else (b, a)  # drawn this way and that
            space.add_line(*[(float(x), -float(y)) for x, y in ends])  # type: ignore[attr-defined]

    assert_same(load(dxf(tmp_path / "own.dxf", draw)))


def test_a_body_of_arcs_bulges_and_a_centre_line(tmp_path: Path) -> None:
    """Two circles' arcs and two straight flanks: every width is known."""

    def draw(space: object) -> None:
        space.add_lwpolyline([(-190, -300, 0, 0, 1), (190, -300)], format="xyseb")  # type: ignore[attr-defined]
        space.add_arc((0, -140), 140, 0, 180)  # type: ignore[attr-defined]
        space.add_line((-140, -140), (-190, -300))  # type: ignore[attr-defined]
        space.add_line((140, -140), (190, -300))  # type: ignore[attr-defined]
        space.add_line((0, 0), (0, -490))  # type: ignore[attr-defined]
        space.add_circle((0, -150), 50)  # type: ignore[attr-defined]

    outline = load(dxf(tmp_path / "own.dxf", draw))
    assert outline.half_mm[-1, 1] == pytest.approx(490, abs=0.01)
    assert half_width_at(outline, np.array([140.0]))[0] == pytest.approx(140, abs=0.01)
    assert half_width_at(outline, np.array([300.0]))[0] == pytest.approx(190, abs=0.01)
    y = np.linspace(310, 480, 30)
    assert half_width_at(outline, y) == pytest.approx(np.sqrt(190**2 - (y - 300) ** 2), abs=0.02)
    assert any("no waist" in warning for warning in outline.warnings)


def test_svg_curves_transforms_and_units(tmp_path: Path) -> None:
    body = (
        '<g transform="translate(30,20) scale(0.1)"><path id="outline" d="M0,0 C1200,-200 1600,900 1300,1500'
        ' S1900,2600 1950,3300 S1300,4900 0,4900 Z"/><path d="M0,0 L5,5"/></g>'
    )
    in_mm = load(svg(tmp_path / "mm.svg", body, 'width="500mm" height="600mm" viewBox="0 0 500 600"'))
    in_inch = load(svg(tmp_path / "in.svg", body, 'width="500in" height="600in" viewBox="0 0 12700 15240"'))
    assert in_mm.half_mm[-1, 1] == pytest.approx(490, abs=0.005)
    assert in_inch.half_mm[-1, 1] == pytest.approx(490, abs=0.005)
    assert in_mm.left_half_mm is None
    t = np.linspace(0, 1, 400)[:, None]
    first = np.array([[0, 0], [120, -20], [160, 90], [130, 150]])
    curve = (
        (1 - t) ** 3 * first[0]
        + 3 * t * (1 - t) ** 2 * first[1]
        + 3 * t**2 * (1 - t) * first[2]
        + t**3 * first[3]
    )
    line = shapely.LineString(in_mm.half_mm)
    assert max(line.distance(shapely.Point(p)) for p in curve) < 0.02


def test_an_svg_without_unit_takes_the_only_plausible_one(tmp_path: Path) -> None:
    outline = load(svg(tmp_path / "own.svg", svg_path(HALF), 'viewBox="0 0 500 500"'))
    assert_same(outline)
    assert any("taken as mm, which makes it 492.0 mm long" in warning for warning in outline.warnings)


def test_the_layer_named_outline_is_enough(tmp_path: Path) -> None:
    def draw(space: object) -> None:
        polyline(RING, closed=True, layer="Outline")(space)
        polyline(turned(RING, 0, (600, 0)), closed=True, layer="moulds")(space)

    assert_same(load(dxf(tmp_path / "own.dxf", draw)))


def test_a_cutaway_keeps_both_halves_on_their_sides(tmp_path: Path) -> None:
    right, left = with_cutaway()
    ring = np.concatenate((right, left[-2:0:-1] * (-1, 1)))
    for angle in (0.0, 37.0, 180.0):
        outline = load(dxf(tmp_path / "own.dxf", polyline(turned(ring, angle), closed=True)))
        assert outline.left_half_mm is not None
        y = np.linspace(5, 480, 60)
        wanted_right = half_width_at(Outline("r", right, BODY.zones), y)
        assert half_width_at(outline, y) == pytest.approx(wanted_right, abs=0.2)
        assert half_width_at(outline, y, "left") == pytest.approx(half_width_at(BODY, y), abs=0.2)
        assert any("the right one is the narrower" in warning for warning in outline.warnings)
        assert widths(outline) == pytest.approx(widths(BODY), abs=0.3)


def test_a_horn_that_bends_back_is_said(tmp_path: Path) -> None:
    horn = np.array([[0, 0], [28, 0], [28, 70], [70, 40], [100, 50]], dtype=float)
    right = np.concatenate((horn, HALF[HALF[:, 1] > 110]))
    left = HALF[-2:0:-1] * (-1, 1)
    outline = load(dxf(tmp_path / "own.dxf", polyline(np.concatenate((right, left)), closed=True)))
    assert any("horn" in warning for warning in outline.warnings)


def test_small_gaps_are_closed_and_said(tmp_path: Path) -> None:
    def draw(space: object) -> None:
        polyline(HALF[:200])(space)
        polyline(HALF[200:])(space)

    outline = load(dxf(tmp_path / "own.dxf", draw))
    assert_same(outline, 0.05)
    assert any("gaps" in warning for warning in outline.warnings)


def test_a_line_drawn_twice_counts_once(tmp_path: Path) -> None:
    def draw(space: object) -> None:
        polyline(HALF)(space)
        polyline(HALF[::-1])(space)

    assert_same(load(dxf(tmp_path / "own.dxf", draw)))


CROSSED = np.array([[0, 0], [140, 20], [140, 150], [-100, 300], [190, 360], [0, 492]], dtype=float)
EIGHT = np.array([[-140, 0], [140, 0], [-190, 490], [190, 490]], dtype=float)


@pytest.mark.parametrize(
    ("draw", "units", "said"),
    [
        (polyline(EIGHT, closed=True), 4, "crosses itself near x 0, y -207.9"),
        (polyline(RING[:1200]), 4, "no closed shape"),
        (polyline(HALF * 3), 0, "does not say its unit"),
        (polyline(HALF), 6, "492 m is not between 300 and 650 mm; perhaps 492 mm"),
        (polyline(CROSSED), 4, "crosses its own centre line"),
        (polyline(HALF / 100), 4, "no guitar's length"),
        (lambda space: space.add_text("only words"), 4, "no lines"),  # type: ignore[attr-defined]
        (
            lambda space: [polyline(turned(RING, 0, (x, 0)), closed=True)(space) for x in (0, 500)],
            4,
            "several shapes",
        ),
        (
            polyline(np.array([[0, 0], [250, 40], [280, 300], [90, 440], [60, 200]]), closed=True),
            4,
            "do not mirror",
        ),
        (lambda space: space.add_line((0, 0), (0, 0)), 4, "no closed shape"),  # type: ignore[attr-defined]
    ],
)
def test_what_is_wrong_is_said_in_one_line(tmp_path: Path, draw: object, units: int, said: str) -> None:
    path = dxf(tmp_path / "own.dxf", draw, units)  # type: ignore[arg-type]
    with pytest.raises(Mistake) as caught:
        load(path)
    assert said in str(caught.value)
    assert str(caught.value).startswith("own.dxf: ")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("own.dxf", b"not a drawing"),
        ("own.dxf", b"0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1024\n"),
        ("own.dxf", bytes(range(256)) * 20),
        ("own.svg", b"<svg><path d='M0 0 L"),
        ("own.svg", b"no markup at all"),
        ("own.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        ("own.svg", b""),
        ("own.png", b"\x89PNG"),
    ],
)
def test_a_file_that_is_no_drawing_is_a_mistake(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(Mistake) as caught:
        load(tmp_path / name)
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_a_folder_are_mistakes(tmp_path: Path) -> None:
    (tmp_path / "folder.dxf").mkdir()
    for name in ("none.dxf", "folder.dxf"):
        with pytest.raises(Mistake):
            load(tmp_path / name)


def test_a_whole_body_in_the_wrong_unit_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="492 m is not between 300 and 650 mm; perhaps 492 mm"):
        load(dxf(tmp_path / "own.dxf", polyline(RING, closed=True), units=6))
