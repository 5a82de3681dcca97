"""Small through holes: found where the bench shows through, and not claimed where a knot would do as well.

Holes and knots are painted into plain pictures; the seeds served to tune.
"""

import numpy as np
import pytest
import shapely

from seamlight.demo import phone
from seamlight.photo import lay_flat, parse_scale
from seamlight.photo.bench import Bench, Ground, log_colour
from seamlight.photo.holes import small_holes
from seamlight.photo.picture import Picture

PX_PER_MM = 4.0
BENCHES = {"dark": (50, 48, 47), "light": (205, 200, 192), "green": (50, 95, 70), "blue": (40, 60, 95)}
CEDAR, WALNUT = (196, 150, 104), (104, 74, 56)
HOLES_MM = ((60.0, 90.0, 1.25), (150.0, 260.0, 1.5), (100.0, 330.0, 2.0))  # x, y, radius


def soft(columns, rows, x, y, radius, blur=0.8) -> np.ndarray:
    """(h, w, 1) how much of each pixel lies in a disc seen through a lens that blurs a little."""
    off = np.hypot(columns + 0.5 - x, rows + 0.5 - y)
    return np.clip((radius - off) / (2.5 * blur) + 0.5, 0, 1)[:, :, None]


def board(bench, wood, seed) -> tuple[np.ndarray, np.ndarray]:
    """A bench and the same with a board of 200 x 400 mm on it, its corner at (40, 40) mm."""
    dice = np.random.default_rng(seed)
    rows, columns = 1920, 1120
    plain = np.array(bench) * np.linspace(1.1, 0.9, columns)[None, :, None] * np.ones((rows, 1, 1))
    shown = plain.copy()
    lines = 12 * np.sin(np.arange(800) / 3.1)[None, :, None]
    shown[160:1760, 160:960] = np.array(wood) + lines
    grit = dice.normal(0, 2.5, (rows, columns, 3))
    return plain + grit, shown + grit


def with_spots(plain: np.ndarray, shown: np.ndarray, ink, spots=HOLES_MM, blur=0.8) -> Picture:
    """The board with discs of `ink` (a colour, or a share of the bench's light) in it."""
    rows, columns = np.mgrid[: plain.shape[0], : plain.shape[1]]
    for x, y, radius in spots:
        share = soft(
            columns,
            rows,
            (x + 40) * PX_PER_MM,
            (y + 40) * PX_PER_MM,
            radius * PX_PER_MM,
            blur * PX_PER_MM / 4,
        )
        fill = plain * ink if np.isscalar(ink) else np.array(ink)
        shown = shown * (1 - share) + fill * share
    return Picture(np.clip(shown, 0, 255).astype(np.uint8), name="board.jpg")


def holes_of(picture: Picture) -> tuple[np.ndarray, ...]:
    (flat,) = lay_flat(picture, parse_scale("4px/mm"))
    return flat.holes_mm


@pytest.mark.parametrize("wood", [CEDAR, WALNUT], ids=["cedar", "walnut"])
@pytest.mark.parametrize("bench", BENCHES.values(), ids=BENCHES)
@pytest.mark.parametrize("light", [0.9, 0.45])
def test_holes_of_2_5_mm_and_more_show_the_bench(bench, wood, light):
    plain, shown = board(bench, wood, 6301)
    found = [shapely.Polygon(hole) for hole in holes_of(with_spots(plain, shown, light))]
    assert len(found) == len(HOLES_MM)
    for x, y, radius in HOLES_MM:
        (hole,) = (one for one in found if one.contains(shapely.Point(x, y)))
        assert hole.centroid.distance(shapely.Point(x, y)) < 0.25
        assert 2 * np.sqrt(hole.area / np.pi) == pytest.approx(2 * radius, abs=0.5)


@pytest.mark.parametrize("wood", [CEDAR, WALNUT], ids=["cedar", "walnut"])
@pytest.mark.parametrize("bench", BENCHES.values(), ids=BENCHES)
@pytest.mark.parametrize("knot", [(64, 40, 26), (96, 60, 38), (44, 30, 22)])
def test_a_dark_knot_is_no_hole_where_the_bench_is_of_another_colour(bench, wood, knot):
    plain, shown = board(bench, wood, 6302)
    assert not holes_of(with_spots(plain, shown, knot, ((60, 90, 1.5), (150, 260, 2.5), (100, 330, 4)), 3.0))


def test_where_wood_is_like_the_bench_nothing_is_claimed():
    """Pale board with lines of the bench's own brown: a spot of that brown may be a knot."""
    plain, shown = board((120, 78, 48), (214, 178, 130), 6303)
    for column in range(200, 900, 100):
        shown[200:1720, column : column + 6] = plain[200:1720, column : column + 6]
    assert not holes_of(with_spots(plain, shown, 0.8, HOLES_MM[:2]))


def test_a_hole_seen_aslant_reaches_under_its_wall():
    """Of a hole 5 mm wide, 1.5 mm are hidden by its wall; the camera says on which side."""
    dice = np.random.default_rng(6304)
    rows, columns = np.mgrid[:1600, :1600]
    bench, wall, wood = np.array((60.0, 62, 66)), np.array((120.0, 92, 64)), np.array((200.0, 154, 106))
    upper, lower = soft(columns, rows, 802, 806, 10), soft(columns, rows, 808, 806, 10)
    shown = wood * (1 - upper) + upper * (wall * (1 - lower) + bench * lower)
    rgb = np.clip(shown + dice.normal(0, 2, shown.shape), 0, 255).astype(np.uint8)
    field = np.zeros((6, 3), np.float32)
    field[0] = np.log(bench + 24)
    ground = Ground((Bench(field, np.eye(3, dtype=np.float32) * 0.03**2),))

    def side(ring, normal):
        return np.maximum(normal @ np.array([6.0, 0.0]), 0.0)

    coarse = rgb[::4, ::4]
    leaf = np.ones(coarse.shape[:2], bool)
    where = (log_colour(coarse), np.zeros(2), np.array([4.0, 4.0]))
    (ring,) = small_holes(rgb, ground, leaf, *where, side)
    hole = shapely.Polygon(ring)
    truth = shapely.Point(802, 806).buffer(10)
    assert hole.intersection(truth).area / hole.union(truth).area > 0.75
    seen = truth.intersection(shapely.Point(808, 806).buffer(10))
    assert hole.area > 1.2 * seen.area


@pytest.mark.parametrize("bench", ["dark", "light", "grey", "green"])
def test_knots_and_ring_lines_of_a_grown_leaf_are_no_holes(grown, bench):
    shot = phone.photograph(grown("Engelmann spruce")[1], 6305, tilt_deg=12, bench=bench)
    (flat,) = lay_flat(Picture(shot.rgb, shot.focal_px), parse_scale("tags"), 4.5)
    assert not flat.holes_mm
