"""A face's picture and its truth belong together."""

import cv2
import numpy as np
import pytest
import shapely

from seamlight.demo import saw, wood
from seamlight.demo.cases import CASES, case_named, face_of
from seamlight.demo.knots import KnotAt
from seamlight.demo.truth import FaceTruth
from seamlight.mistake import Mistake


@pytest.fixture(scope="module")
def clean() -> FaceTruth:
    """A leaf without saw marks, streaks, noise."""
    log = wood.grow_log(21, ring_mm=1.6, knots=[KnotAt(30, 40, 12.0, "dead", 60)])
    pair = saw.saw_pair(log, 21, streaks=0.0, saw_marks=0.0, taper_mm=20, chips=2, holes=1, grain_deg=1.0)
    return saw.face(pair.a, noise=0.0)


def test_dark_lines_lie_just_within_the_ring_borders(clean: FaceTruth) -> None:
    x = np.arange(20.0, 190.0, 0.02)
    row = 150.1
    number = clean.leaf.log.years.ring_number(clean.leaf.radius("sawn", x, np.full_like(x, row)))
    share = number - np.floor(number)
    gray = clean.rgb.mean(axis=2)[int(row * 4)]
    seen = np.interp(x, (np.arange(len(gray)) + 0.5) / 4, gray)
    late, early = seen[(share > 0.86) & (share < 0.97)].mean(), seen[(share > 0.15) & (share < 0.5)].mean()
    assert early - late > 15


def test_a_ring_line_keeps_its_ring(clean: FaceTruth) -> None:
    y = np.linspace(5, 540, 60)
    line = clean.ring_line(60.0, 280.0, y)
    radius = clean.leaf.radius("sawn", line, y)
    assert np.ptp(radius) < 1e-6
    slope = np.degrees(np.arctan(np.gradient(line, y)))
    assert np.allclose(slope[1:-1], clean.direction_deg(line, y)[1:-1], atol=0.05)


def test_the_spacing_counts_the_rings(clean: FaceTruth) -> None:
    x = np.linspace(15, 195, 1801)
    y = np.full_like(x, 420.0)
    spacing, tilt = clean.spacing_mm(x, y), np.radians(clean.direction_deg(x, y))
    rings = np.trapezoid(np.cos(tilt) / spacing, x)
    number = clean.leaf.log.years.ring_number(clean.leaf.radius("sawn", x[[0, -1]], y[[0, -1]]))
    assert rings == pytest.approx(abs(number[1] - number[0]), rel=0.01)


def test_mask_and_outline_are_the_same_leaf(clean: FaceTruth) -> None:
    leaf = shapely.Polygon(clean.outline_mm)
    for hole in clean.holes_mm:
        leaf = leaf.difference(shapely.Polygon(hole))
    assert clean.wood.sum() / 16 == pytest.approx(leaf.area, rel=0.001)
    low, high = clean.outline_mm.min(axis=0), clean.outline_mm.max(axis=0)
    assert np.allclose(low, 0, atol=1e-9)
    assert np.allclose(high, [clean.width_mm, clean.length_mm], atol=1e-9)
    assert clean.width_end1_mm - clean.width_end2_mm == pytest.approx(20, abs=0.1)


def test_a_knot_is_drawn_where_its_outline_says(clean: FaceTruth) -> None:
    knot = next(flaw for flaw in clean.flaws if flaw.kind == "knot")
    area = shapely.Polygon(knot.outline_mm).area
    # a round branch of 12 mm cut at 60 degrees
    assert area == pytest.approx(np.pi * 36 / np.sin(np.radians(60)), rel=0.12)
    inside = np.zeros(clean.wood.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(knot.outline_mm * 4 - 0.5).astype(np.int32)], 1)
    around = cv2.dilate(inside, np.ones((41, 41))) - cv2.dilate(inside, np.ones((9, 9)))
    gray = clean.rgb.mean(axis=2)
    assert gray[around > 0].mean() - gray[inside > 0].mean() > 35
    assert np.isnan(clean.field.angle_deg).sum() > np.isnan(clean.field.coherence).sum()


def test_the_picture_of_b_is_the_mirror_of_a() -> None:
    pair = saw.saw_pair(wood.grow_log(31, lean_deg=2.0), 31, streaks=0.0, rough_mm=0.0)
    a, b = saw.face(pair.a), saw.face(pair.b)
    left = cv2.GaussianBlur(a.rgb[200:2000, 100:760].mean(axis=2), (0, 0), 2)
    right = cv2.GaussianBlur(b.rgb[200:2000, ::-1][:, 100:760].mean(axis=2), (0, 0), 2)
    assert np.corrcoef(left.ravel(), right.ravel())[0, 1] > 0.8
    straight = cv2.GaussianBlur(b.rgb[200:2000, 100:760].mean(axis=2), (0, 0), 2)
    assert np.corrcoef(left.ravel(), straight.ravel())[0, 1] < 0.4


def test_turned_and_other_face_keep_their_flaws() -> None:
    pair = saw.saw_pair(wood.grow_log(3, "Engelmann spruce", knots=2, wane_mm=6), 5, taper_mm=15, holes=1)
    plain, turned = saw.face(pair.b, px_per_mm=2.0), saw.face(pair.b, px_per_mm=2.0, turned=True)
    box = np.array([plain.width_mm, plain.length_mm])
    assert turned.width_end1_mm == plain.width_end2_mm
    places = [flaw.outline_mm.mean(axis=0) for flaw in plain.flaws if flaw.kind != "wane"]
    back = [box - flaw.outline_mm.mean(axis=0) for flaw in turned.flaws if flaw.kind != "wane"]
    assert np.allclose(places, back, atol=0.01)
    other = saw.face(pair.b, "other", px_per_mm=2.0)
    hole = next(flaw for flaw in plain.flaws if flaw.kind == "hole").outline_mm.mean(axis=0)
    through = next(flaw for flaw in other.flaws if flaw.kind == "hole").outline_mm.mean(axis=0)
    assert np.allclose(through, [plain.width_mm - hole[0], hole[1]], atol=0.01)


def test_runout_swaps_the_halves_with_the_lamp_and_colour_does_not() -> None:
    def halves(spiral: float, tint: float) -> list[float]:
        log = wood.grow_log(12, spiral_deg=spiral)
        pair = saw.saw_pair(log, 12, streaks=0.0, b_tint=tint)
        lamps: tuple[saw.Lamp, ...] = ("end 1", "end 2")
        faces = [[saw.face(leaf, px_per_mm=1.0, lamp=lamp) for leaf in (pair.a, pair.b)] for lamp in lamps]
        return [float(np.log(a.rgb[a.wood].mean() / b.rgb[b.wood].mean())) for a, b in faces]

    first, second = halves(2.0, 1.0)
    assert first * second < 0
    assert abs(first) > 0.04
    first, second = halves(0.0, 0.92)
    assert first > 0.04
    assert second > 0.04


def test_the_table_of_cases_keeps_its_seeds_apart() -> None:
    assert all(case.seed >= 9000 for case in CASES.values())
    assert len({case.seed for case in CASES.values()}) == len(CASES)
    with pytest.raises(Mistake):
        case_named("nothing")
    face = face_of("cedar all faults", px_per_mm=2.0)
    assert face is face_of("cedar all faults", px_per_mm=2.0)
    assert {flaw.kind for flaw in face.flaws} == {"knot", "pitch", "crack", "wane", "hole", "stain"}
