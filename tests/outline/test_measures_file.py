"""The maker's measures file: what it may say, and one line for what is wrong with it."""

import contextlib
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drawn import HALF, dxf, polyline
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.outline import draw, half_width_at, load, widths, zone_polygons
from seamlight.outline.measures import GENERIC

BODY: dict[str, Any] = {
    "name": "harbour parlour",
    "length": 464,
    "upper bout width": 241,
    "upper bout from neck end": 99,
    "waist width": 194,
    "waist from neck end": 188,
    "lower bout width": 337,
    "lower bout from neck end": 348,
}
ZONES: dict[str, Any] = {
    "soundhole diameter": 95,
    "soundhole from neck end": 158,
    "scale length": 632.46,
    "body frets": 12,
    "fingerboard half width": 29,
    "fingerboard end from neck end": 104,
    "edge band": 6,
}


def written(folder: Path, what: Any, name: str = "own.json") -> Path:
    path = folder / name
    path.write_text(what if isinstance(what, str) else json.dumps(what), encoding="utf-8")
    return path


def without(name: str) -> dict[str, Any]:
    return {key: value for key, value in BODY.items() if key != name}


def test_the_same_measures_make_the_same_body(tmp_path: Path) -> None:
    outline = load(written(tmp_path, BODY))
    assert outline.name == "harbour parlour"
    assert np.array_equal(outline.half_mm, draw(GENERIC["parlour"]).half_mm)
    assert outline.left_half_mm is None
    assert load(written(tmp_path, without("name"))).name == "own"


def test_lengths_in_any_form_and_names_in_any_dress(tmp_path: Path) -> None:
    inch = {
        "Length": "18 1/4 in",
        "upper_bout_width": '9 1/2"',
        "UPPER-BOUT from neck end": "99",
        "waist width": "194 mm",
        "waist from neck end": "18,8 cm",
        "lower bout width": "13 1/4",
        "lower bout from neck end": 348.0,
    }
    outline = load(written(tmp_path, inch))
    assert outline.half_mm[-1, 1] == pytest.approx(18.25 * 25.4)
    assert widths(outline) == pytest.approx((9.5 * 25.4, 194, 13.25 * 25.4), abs=1e-6)


def test_zones_as_they_are_said(tmp_path: Path) -> None:
    said = {**ZONES, "bridge along grain": 30, "bridge across grain": 150, "bridge plate margin": 8}
    outline = load(written(tmp_path, {**BODY, "zones": said}))
    z = outline.zones
    assert (z.soundhole_mm, z.soundhole_y_mm) == (95, 158)
    # half the scale, and 3 mm of compensation for steel strings: common practice, no source
    assert z.bridge_y_mm == pytest.approx(632.46 / 2 + 3)
    assert (z.bridge_length_mm, z.bridge_width_mm) == (46, 166)
    assert (z.fingerboard_half_width_mm, z.fingerboard_end_mm, z.edge_band_mm) == (29, 104, 6)
    assert outline.warnings == ()


def test_the_saddle_follows_from_scale_fret_and_strings(tmp_path: Path) -> None:
    def saddle(**zones: Any) -> float:
        named = {key.replace("_", " "): value for key, value in zones.items()}
        return load(written(tmp_path, {**BODY, "zones": named})).zones.bridge_y_mm

    fourteen = 645.16 * 2 ** (-14 / 12)  # equal temperament
    assert saddle(scale_length="25.4in", body_frets=14) == pytest.approx(fourteen + 3)
    assert saddle(scale_length=650, body_frets=12, strings="nylon") == pytest.approx(325 + 2)
    assert saddle(scale_length=650, body_frets=12, compensation=1.5) == pytest.approx(326.5)
    assert saddle(bridge_from_neck_end=301) == 301


def test_what_is_not_said_is_taken_and_told(tmp_path: Path) -> None:
    (told,) = load(written(tmp_path, BODY)).warnings
    assert "soundhole, bridge, fingerboard, edge band" in told
    assert "generic parlour" in told
    (told,) = load(written(tmp_path, {**BODY, "zones": {"edge band": 3}})).warnings
    assert "edge band" not in told


def test_a_body_without_a_soundhole(tmp_path: Path) -> None:
    outline = load(written(tmp_path, {**BODY, "zones": {"soundhole diameter": 0, "edge band": 0}}))
    assert set(zone_polygons(outline)) == {"bridge", "fingerboard"}


def test_optional_measures_reach_the_shape(tmp_path: Path) -> None:
    own = {**BODY, "neck flat half width": 30, "shoulder fullness": 2.4, "tail radius": 500}
    outline = load(written(tmp_path, own))
    assert outline.half_mm[1].tolist() == [30, 0]
    y = np.array([30.0])
    assert half_width_at(outline, y)[0] > half_width_at(load(written(tmp_path, BODY)), y)[0] + 0.5


def test_a_cutaway_is_cut_on_its_side(tmp_path: Path) -> None:
    cut = {"side": "Left", "depth": 80, "width": "60 mm", "horn radius": 25}
    outline = load(written(tmp_path, {**BODY, "cutaway": cut}))
    assert outline.left_half_mm is not None
    wide, narrow = (half_width_at(outline, np.array([40.0]), side)[0] for side in ("right", "left"))
    assert narrow < 40 < wide


def test_a_drawing_with_its_own_zones(tmp_path: Path) -> None:
    (tmp_path / "shapes").mkdir()
    dxf(tmp_path / "shapes" / "body.dxf", polyline(HALF / 10), units=0)
    own = {"name": "school body", "drawing": "shapes/body.dxf", "drawing unit": "cm", "zones": ZONES}
    outline = load(written(tmp_path, own))
    assert outline.name == "school body"
    assert outline.half_mm[-1, 1] == pytest.approx(492, abs=0.02)
    assert outline.zones.soundhole_mm == 95
    assert outline.warnings == ()
    assert outline.notes
    nothing_said = load(written(tmp_path, {"drawing": "shapes/body.dxf", "drawing unit": "cm"}))
    assert nothing_said.name == "body"
    assert "generic auditorium" in nothing_said.warnings[0]


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (without("waist width"), "own.json: 'waist width' is missing"),
        ({**BODY, "waste width": 1}, "no field 'waste width'; did you mean 'waist width'?"),
        ({**BODY, "lower bout width": 33.7}, "perhaps 337 mm (centimetres"),
        ({**BODY, "lower bout width": 13.25}, "perhaps 336.5 mm (inches"),
        ({**BODY, "lower bout width": 168.5}, "write the full width, not half of it"),
        ({**BODY, "length": 4640}, "perhaps 464 mm (the point one place too far right"),
        ({**BODY, "length": "long"}, "'long' is not a length"),
        ({**BODY, "length": True}, "True is no number"),
        ({**BODY, "length": None}, "None is no number"),
        (json.dumps(BODY).replace("464", "NaN"), "nan is no number"),
        (json.dumps(BODY).replace("464", "1e999"), "inf is no number"),
        ({**BODY, "waist from neck end": 349}, "own.json: upper bout, waist and lower bout do not follow"),
        ({**BODY, "waist width": 250}, "own.json: the waist must be narrower"),
        ({**BODY, "lower bout fullness": 3}, "own.json: no fair curve"),
        ({**BODY, "shoulder fullness": 23}, "23 is not possible; usual is"),
        ({**BODY, "name": ""}, "own.json: name: is no text"),
        ({**BODY, "Length": 464}, "the field 'length' is there twice"),
        ('{"length": 464, "length": 466}', "'length' is there twice"),
        ({**BODY, "zones": [1]}, "own.json: zones: should hold one object"),
        ({**BODY, "zones": {"soundhole": 95}}, "no field 'soundhole'; did you mean 'soundhole diameter'?"),
        ({**BODY, "zones": {"soundhole diameter": 9.5}}, "perhaps 95 mm"),
        ({**BODY, "zones": {"scale length": 645}}, "'scale length' is given without 'body frets'"),
        ({**BODY, "zones": {"strings": "nylon"}}, "without 'scale length'"),
        ({**BODY, "zones": {"scale length": 645, "body frets": 12.5}}, "12.5 is no fret"),
        ({**BODY, "zones": {**ZONES, "bridge from neck end": 300}}, "both say where the bridge lies"),
        ({**BODY, "zones": {"bridge from neck end": 450}}, "lies off the body"),
        ({**BODY, "zones": {"soundhole from neck end": 270}}, "under the bridge"),
        ({**BODY, "zones": {"strings": "gut"}}, "write steel or nylon"),
        ({**BODY, "drawing": "body.dxf"}, "'length' is given beside 'drawing'"),
        ({"drawing": "body.dxf"}, "no such file"),
        ({"drawing": "body.png"}, "names no DXF or SVG file"),
        ({"drawing": 3}, "drawing: is no text"),
        ({**BODY, "drawing unit": "mm"}, "without 'drawing'"),
        ({**BODY, "cutaway": {"depth": 80, "width": 60}}, "own.json: cutaway: 'side' is missing"),
        ({**BODY, "cutaway": {"side": "treble", "depth": 80, "width": 60}}, "write left or right"),
        ({**BODY, "cutaway": {"side": "left", "depth": 8, "width": 60}}, "perhaps 80 mm"),
        ({**BODY, "cutaway": {"side": "left", "depth": 80, "width": 100}}, "own.json: no fair cutaway"),
        ("{", "is no JSON file"),
        ("[" * 5000, "is no JSON file"),
        ("[1]", "should hold one object"),
        ("", "is no JSON file"),
    ],
)
def test_one_line_for_what_is_wrong(tmp_path: Path, what: Any, said: str) -> None:
    with pytest.raises(Mistake) as caught:
        load(written(tmp_path, what))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_no_file_and_no_text(tmp_path: Path) -> None:
    (tmp_path / "own.json").mkdir()
    binary = tmp_path / "bytes.json"
    binary.write_bytes(bytes(range(256)))
    for path in (tmp_path / "none.json", tmp_path / "own.json", binary):
        with pytest.raises(Mistake):
            load(path)


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(sorted({*BODY, *ZONES, "zones", "drawing", "waist radius"})), anything)
def test_whatever_stands_in_a_field(tmp_path: Path, name: str, value: Any) -> None:
    own = {**BODY, "zones": {**ZONES, name: value}} if name in ZONES else {**BODY, name: value}
    path = written(tmp_path, own)
    with contextlib.suppress(Mistake):  # anything else a reader raises fails the test
        outline = load(path)
        assert np.isfinite(outline.half_mm).all()
        assert outline.half_mm[-1, 1] == pytest.approx(464, abs=200)
