"""The mirror slid over a board."""

import cv2
import numpy as np
import pytest

from seamlight.layout.mirror import best_mirror_line, mirror_lines
from seamlight.photo import FlatLeaf, Scale


def board(rgb: np.ndarray, px_per_mm: float) -> FlatLeaf:
    height, width = rgb.shape[0] / px_per_mm, rgb.shape[1] / px_per_mm
    outline = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    scale = Scale("px", px_per_mm, 0.0)
    wood = np.ones(rgb.shape[:2], bool)
    return FlatLeaf(rgb, wood, px_per_mm, outline, (), height, width, width, scale, None)


def figure(seed: int, width: int, height: int = 200) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(size=(height, width)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), sigmaX=2.0, sigmaY=6.0)
    return np.clip(128 + 45 * soft / soft.std(), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("slip_px", [0, 14, -14])
def test_a_mirrored_half_shows_where_and_how_far_slid(slip_px):
    left = figure(1, 137)
    right = np.roll(left[:, ::-1], slip_px, axis=0)
    rgb = np.repeat(np.hstack([left, right])[..., None], 3, axis=2)
    best = best_mirror_line(board(rgb, 2.0), reach_mm=40.0, slip_mm=10.0)
    assert best is not None
    assert best.x_mm == pytest.approx(137 / 2.0, abs=0.26)
    assert best.likeness > 0.8
    assert best.slip_mm == pytest.approx(-slip_px / 2.0, abs=0.01)


def test_plain_figure_mirrors_nowhere_and_a_narrow_board_gives_none():
    rgb = np.repeat(figure(2, 300)[..., None], 3, axis=2)
    assert mirror_lines(board(rgb, 2.0), 30.0) == ()
    assert best_mirror_line(board(rgb[:, :50], 2.0), 30.0) is None
