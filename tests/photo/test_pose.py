"""The camera fitted to target corners whose truth is known, by arithmetic alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.photo.camera import Camera, rotation_of
from seamlight.photo.planes import CorneredPlane, EvenPlane, LeafMap, SeenPlane, px_per_mm_at
from seamlight.photo.pose import Piece, fit_pieces
from seamlight.photo.sides import leaning
from seamlight.photo.target import target_sheet

SIZE_PX = (4000, 3000)
DIAGONAL_PX = float(np.hypot(*SIZE_PX))
FOCAL_PX = 26 / 43.2666 * DIAGONAL_PX
NOISE_PX = 0.08
INK = np.tile(np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]]), (6, 1))


def camera(dice: np.random.Generator, tilt_deg: float, k1: float, focal_error: float = 0.01) -> Camera:
    """A phone a metre above the bench, its focal length and centre a little off what the EXIF says."""
    toward = dice.uniform(0, 2 * np.pi)
    turn = np.array([np.cos(toward), np.sin(toward), 0.0]) * np.radians(tilt_deg)
    focal = FOCAL_PX * np.exp(dice.normal(0, focal_error))
    centre = np.array(SIZE_PX) / 2 + dice.normal(0, 10, 2)
    return Camera(focal, centre, k1, 0.0, turn, np.array([0.0, 0.0, 1.05e3]), DIAGONAL_PX / 2)


def lying(dice: np.random.Generator, side: float, number: int) -> tuple[np.ndarray, np.ndarray]:
    """Corners of a sheet in its own mm and where they lie on the bench, on one side of the leaf."""
    own = np.concatenate([tag.corners_mm for tag in target_sheet("a4", number).tags])
    turn = leaning(dice.uniform(-0.4, 0.4) + np.pi / 2 * dice.integers(0, 4))
    return own, (own - [105, 148]) @ turn.T + [dice.uniform(-200, 200), side * dice.uniform(265, 300)]


def length_error(dice, tilt_deg: float, k1: float, sides=(-1.0, 1.0), exif=True) -> tuple[float, float]:
    """Error of 560 mm on a face lifted 4.5 mm, and its stated standard error."""
    truly = camera(dice, tilt_deg, k1)
    pieces = []
    for number, side in enumerate(sides, start=1):
        own, bench = lying(dice, side, number)
        seen = truly.to_px(bench) + dice.normal(0, NOISE_PX, bench.shape)
        pieces.append(Piece(own, seen, np.full(len(own), NOISE_PX), INK))
    fit = fit_pieces(pieces, SIZE_PX, FOCAL_PX if exif else None)
    ends = truly.to_px(np.array([[-280.0, 5.0], [280.0, -5.0]]), 4.5)

    def length(one: Camera) -> float:
        return float(np.linalg.norm(np.diff(one.to_plane(ends, 4.5), axis=0)))

    return length(fit.camera) - length(truly), fit.spread_of(length)


def test_two_sheets_give_560_mm_within_half_a_millimetre():
    dice = np.random.default_rng(611)
    for _ in range(25):
        off, doubt = length_error(dice, dice.uniform(0, 25), dice.uniform(-0.02, 0.02))
        assert abs(off) < 0.5
        assert doubt < 0.25


@pytest.mark.parametrize(("sides", "exif"), [((-1.0, 1.0), True), ((1.0,), True), ((-1.0, 1.0), False)])
def test_the_stated_doubt_covers_the_true_error(sides, exif):
    """Of 40 cases about 38 should lie within twice the standard error; 34 is three deviations fewer."""
    dice = np.random.default_rng(612)
    found = [length_error(dice, dice.uniform(0, 25), dice.normal(0, 0.012), sides, exif) for _ in range(40)]
    within = sum(abs(off) < 2 * doubt for off, doubt in found)
    assert within >= 34


def test_a_corner_that_is_far_off_does_little_harm():
    dice = np.random.default_rng(613)
    truly = camera(dice, 10, 0.005)
    own, bench = lying(dice, 1.0, 1)
    seen = truly.to_px(bench)
    seen[7] += 25
    other_own, other_bench = lying(dice, -1.0, 2)
    pieces = [
        Piece(own, seen, np.full(24, 0.08), INK),
        Piece(other_own, truly.to_px(other_bench), np.full(24, 0.08), INK),
    ]
    fit = fit_pieces(pieces, SIZE_PX, FOCAL_PX)
    ends = truly.to_px(np.array([[-280.0, 0.0], [280.0, 0.0]]), 4.5)
    assert np.linalg.norm(np.diff(fit.camera.to_plane(ends, 4.5), axis=0)) == pytest.approx(560, abs=0.5)


def test_spread_ink_is_not_taken_for_a_larger_print():
    dice = np.random.default_rng(614)
    truly = camera(dice, 12, -0.004)
    pieces = []
    for number, side in ((1, -1.0), (2, 1.0)):
        own, bench = lying(dice, side, number)
        _, turn = leaning(0), np.linalg.lstsq(own - own.mean(0), bench - bench.mean(0), rcond=None)[0]
        pieces.append(Piece(own, truly.to_px(bench + 0.2 * INK @ turn), np.full(24, 0.08), INK))
    fit = fit_pieces(pieces, SIZE_PX, FOCAL_PX)
    ends = truly.to_px(np.array([[-280.0, 0.0], [280.0, 0.0]]), 4.5)
    assert np.linalg.norm(np.diff(fit.camera.to_plane(ends, 4.5), axis=0)) == pytest.approx(560, abs=0.1)


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 25), st.floats(-0.02, 0.02), st.floats(0, 8), st.integers(0, 10**6))
def test_maps_go_there_and_back(tilt_deg, k1, lift_mm, seed):
    dice = np.random.default_rng(seed)
    seen = SeenPlane(camera(dice, tilt_deg, k1), lift_mm)
    corners = np.array([[0.0, 0], [215, 0], [200, 560], [15, 560]])
    cornered = CorneredPlane.of(corners, corners * 4 + dice.uniform(-60, 60, (4, 2)))
    points = dice.uniform(-250, 250, (20, 2))
    for plane in (seen, EvenPlane(4.2), cornered):
        leaf = LeafMap(plane, leaning(0.1), np.array([-30.0, 12.0]))
        assert leaf.to_leaf(leaf.to_photo(points)) == pytest.approx(points, abs=1e-4)
    assert px_per_mm_at(EvenPlane(4.2), np.array([[3.0, 4.0]])) == pytest.approx(4.2)


def test_rotation_keeps_lengths():
    turn = rotation_of(np.array([0.2, -0.1, 0.4]))
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
