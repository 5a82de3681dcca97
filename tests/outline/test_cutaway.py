"""A rounded cutaway: depth, width and horn radius met, no jump in curvature, within the plain body."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.outline import Cutaway, Measures, Outline, draw, for_back, half_width_at, polygon, widths
from seamlight.outline.cutaway import cutaway_line
from seamlight.outline.measures import GENERIC

BODY = GENERIC["auditorium"]
CUT = Cutaway("right", 85, 65, 25)


def cut_body(size: str = "auditorium", cut: Cutaway = CUT) -> tuple[Measures, Outline]:
    m = replace(GENERIC[size], cutaway=cut)
    return m, draw(m)


def curvature_of(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Arc length and curvature at inner points, from the circle through each and its neighbours."""
    a, b, c = points[:-2], points[1:-1], points[2:]
    cross = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    ab, bc, ca = (np.hypot(*(p - q).T) for p, q in ((a, b), (b, c), (c, a)))
    return np.cumsum(ab), 2 * cross / (ab * bc * ca)


def assert_as_wanted(m: Measures, outline: Outline) -> None:
    """Judged from the points of the outline alone."""
    assert m.cutaway is not None
    edge = outline.half_mm
    assert edge[1].tolist() == [m.neck_flat_mm / 2, 0]
    assert np.hypot(*np.diff(edge[1:], axis=0).T).max() <= 1 + 1e-9
    up_to_waist = edge[1 : int(np.argmin(np.abs(edge[:, 1] - m.waist_at_mm) + (edge[:, 0] < 60) * 99))]
    tip_x = m.neck_flat_mm / 2 + m.cutaway.width_mm
    tip = int(np.argmax(up_to_waist[:, 0] >= tip_x))
    assert up_to_waist[:tip, 1].max() == pytest.approx(m.cutaway.depth_mm, abs=0.02)
    across, along = up_to_waist[tip] - up_to_waist[tip - 1]
    assert abs(along) < 0.05 * across  # level there: no place on the horn is nearer to the neck end
    assert up_to_waist[tip, 1] < m.cutaway.depth_mm + 0.02
    s, bend = curvature_of(edge[1:])
    # the least radius may be reached at one place only, which a chord of 1 mm blunts
    assert 0.998 < 1 / bend.max() / m.cutaway.horn_radius_mm < 1.02
    # steps of at most 1 mm: no jump in curvature, from straight over hollow and horn to waist and tail
    rise = np.abs(np.diff(bend)) / np.maximum(np.diff(s), 0.2)
    assert rise.max() < 0.013
    signs = np.sign(bend[np.abs(bend) > 1e-4])
    assert np.count_nonzero(np.diff(signs)) == 3  # hollow, horn, waist, lower bout
    assert signs[0] < 0
    body = shapely.Polygon(polygon(outline))
    assert body.is_valid
    assert shapely.Polygon(draw(replace(m, cutaway=None)).half_mm).buffer(0.05).covers(shapely.Polygon(edge))


@pytest.mark.parametrize("size", ["parlour", "concert", "dreadnought", "jumbo", "classical"])
def test_depth_width_and_horn_are_met(size: str) -> None:
    assert_as_wanted(*cut_body(size, Cutaway("right", 80, 60, 25)))


@settings(max_examples=6, deadline=None)
@given(st.sampled_from(["large auditorium", "dreadnought", "jumbo"]), *[st.floats(0, 1)] * 3)
def test_cutaways_in_the_usual_range_are_met(size: str, deep: float, wide: float, round_: float) -> None:
    assert_as_wanted(*cut_body(size, Cutaway("right", 75 + 15 * deep, 50 + 20 * wide, 20 + 10 * round_)))


def test_places_are_exact_and_the_curvature_joins_the_waists() -> None:
    m, outline = cut_body()
    line = cutaway_line(m)
    end, heading = line.at(np.array([line.length_mm]))
    assert end[0] == pytest.approx([m.waist_mm / 2, m.waist_at_mm], abs=1e-6)
    assert heading[0] == pytest.approx(np.pi / 2, abs=1e-9)
    below = outline.half_mm[outline.half_mm[:, 1] > m.waist_at_mm + 0.001]
    _, bend = curvature_of(below)
    assert bend[0] == pytest.approx(line.curvature(np.array([line.length_mm]))[0], abs=5e-4)


def test_the_other_half_and_everything_below_the_waist_stay() -> None:
    m, outline = cut_body()
    plain = draw(BODY)
    assert outline.left_half_mm is not None
    assert np.array_equal(outline.left_half_mm, plain.half_mm)
    y = np.linspace(m.waist_at_mm, m.length_mm, 50)
    assert half_width_at(outline, y) == pytest.approx(half_width_at(plain, y), abs=1e-6)
    assert widths(outline) == pytest.approx(widths(plain), abs=1e-6)
    assert (
        half_width_at(outline, np.array([40.0]))[0] < 60 < half_width_at(outline, np.array([40.0]), "left")[0]
    )
    assert any("one corner" in note for note in outline.notes)


def test_left_is_right_mirrored_and_the_back_is_seen_from_behind() -> None:
    _, right = cut_body()
    _, left = cut_body(cut=replace(CUT, side="left"))
    assert left.left_half_mm is not None
    assert np.array_equal(left.left_half_mm, right.half_mm)
    assert np.array_equal(polygon(for_back(right)), polygon(left))


@pytest.mark.parametrize(
    ("cut", "said"),
    [
        (Cutaway("right", 150, 65, 25), "leaves no horn above the waist; make it at most 138 mm deep"),
        (Cutaway("right", 85, 110, 35), "make it narrower"),
    ],
)
def test_a_cutaway_that_can_not_be(cut: Cutaway, said: str) -> None:
    with pytest.raises(Mistake, match=said):
        cut_body(cut=cut)
