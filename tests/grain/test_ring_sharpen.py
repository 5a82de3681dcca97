"""Blur and noise taken out of profiles whose lines are known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from seamlight.grain.ring_profile import dark_lines
from seamlight.grain.ring_sharpen import SHARP_MM, sharpened
from seamlight.grain.ring_tracks import SURE

STEP_MM = 0.25
NARROW_MM = 0.9


def profiles(soften_mm: float, noise: float, seed: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """Six profiles of the same lines, each with its own noise, and where they lie: narrow among wide."""
    dice = np.random.default_rng(seed)
    at = 4.0 + np.cumsum(np.where(np.arange(90) % 6 == 0, NARROW_MM, dice.uniform(1.2, 1.8, 90)))
    x = np.arange(0, at[-1] + 4, STEP_MM)
    dark = np.exp(-(((x[:, None] - at[None, :]) / SHARP_MM) ** 2) / 2).sum(axis=1)
    dark = gaussian_filter1d(dark, soften_mm / STEP_MM) if soften_mm else dark
    figure = -(dark - dark.mean()) / dark.std()
    return (figure + noise * dice.standard_normal((6, len(x)))).astype(np.float32), at


@pytest.mark.parametrize("soften_mm", [0.0, 0.3])
def test_a_narrow_ring_beside_wide_ones_is_parted_in_a_soft_picture(soften_mm: float) -> None:
    drawn, at = profiles(soften_mm, noise=0.02)
    clear, left = sharpened(drawn, np.ones(drawn.shape, bool), STEP_MM, 1)
    assert left < 0.15 * float(clear.std())
    for row in clear:
        found = STEP_MM * dark_lines(-row.astype(float), STEP_MM, left, SURE)
        found = found[
            (found > at[0] - 0.5) & (found < at[-1] + 0.5)
        ]  # beyond the outermost line is no figure
        assert len(found) == len(at)
        assert np.abs(found - at).max() <= 0.2


def test_without_it_the_narrow_ones_melt_into_their_neighbours() -> None:
    drawn, at = profiles(0.3, noise=0.02)
    assert len(dark_lines(-drawn[0].astype(float), STEP_MM, 0.02)) < len(at)


def test_what_is_noise_alone_is_left_small_and_not_sharpened() -> None:
    noise = np.random.default_rng(1).standard_normal((12, 800)).astype(np.float32)
    clear, _ = sharpened(noise, np.ones(noise.shape, bool), STEP_MM, 1)
    assert clear.std() < 0.5 * noise.std()


def test_too_few_profiles_are_left_as_they_are() -> None:
    drawn, _ = profiles(0.3, noise=0.02)
    same, left = sharpened(drawn[:1], np.ones((1, drawn.shape[1]), bool), STEP_MM, 1)
    np.testing.assert_array_equal(same, drawn[:1])
    assert left == 0.0
