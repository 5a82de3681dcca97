"""Ring borders on a picture in which the rings stand about upright: a core, or a strip of a face or an end.

A border is where latewood stops and the next year's earlywood starts: the steep side of a dark line.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.ring_profile import dark_lines

Array = NDArray[np.float64]

MOST_LEAN_DEG = 31.0
LEANS = 25
TALL_MM = 2.0  # of the middle, over which rings are nearly straight
LEAN_MM = 5.0  # over which one lean holds
LEVEL_MM = 9.0  # broader changes are stain and light
SOFTEN_MM = 0.05


def ring_borders(gray: NDArray[np.uint8], px_per_mm: float) -> Array:
    """Columns (px, fractions, from the left border) at which rings end, along the picture's middle row.

    Args:
        gray: (h, w) lightness, rings upright within about 30 degrees.
        px_per_mm: scale of the picture.
    """
    dark, noise = upright_profile(gray, px_per_mm)
    at = dark_lines(dark, 1 / px_per_mm, noise)
    if not len(at):
        return np.zeros(0)
    return _steep_sides(dark, at)


def upright_profile(gray: NDArray[np.uint8], px_per_mm: float) -> tuple[Array, float]:
    """Darkness along the middle row, averaged along the lean that its lines have; and its noise."""
    spare = max(0, (gray.shape[0] - round(TALL_MM * px_per_mm)) // 2)
    dark = 255.0 - gray[spare : gray.shape[0] - spare].astype(np.float32)
    dark -= cv2.blur(dark, (_odd(LEVEL_MM * px_per_mm), len(dark)), borderType=cv2.BORDER_REFLECT)
    slopes = np.tan(np.radians(np.linspace(-MOST_LEAN_DEG, MOST_LEAN_DEG, LEANS)))
    sheared = [_sheared_halves(dark, slope) for slope in slopes]
    soften = max(SOFTEN_MM * px_per_mm, 0.5)
    profiles = np.stack([_soft((upper + lower) / 2, soften) for upper, lower in sheared])
    rest = np.stack([_soft((upper - lower) / 2, soften) for upper, lower in sheared])
    steep = np.gradient(profiles, axis=1) ** 2
    energy = cv2.blur(steep.astype(np.float32), (_odd(LEAN_MM * px_per_mm), 1))
    best = np.argmax(energy * (1 - 0.05 * np.abs(slopes))[:, None], axis=0)
    column = np.arange(profiles.shape[1])
    noise = 1.4826 * float(np.median(np.abs(rest[best, column])))
    return np.asarray(profiles[best, column], np.float64), noise


def _sheared_halves(dark: NDArray[np.float32], slope: float) -> tuple[Array, Array]:
    """Means of the upper and the lower half along lines that move by `slope` px a row, at the middle row."""
    height, width = dark.shape
    middle = (height - 1) / 2
    shear = np.array([[1, slope, -slope * middle], [0, 1, 0]], np.float64)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    bent = cv2.warpAffine(dark, shear, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    half = max(1, height // 2)
    return bent[:half].mean(axis=0), bent[height - half :].mean(axis=0)


def _soft(values: Array, deviation: float) -> Array:
    size = _odd(6 * deviation)
    return np.asarray(
        cv2.GaussianBlur(values.astype(np.float32)[None, :], (size, 1), deviation)[0], np.float64
    )


def _steep_sides(dark: Array, at: NDArray[np.int64]) -> Array:
    """For each dark line the place of the steepest change on the side where most lines are steeper."""
    change = np.gradient(dark)
    bounds = np.concatenate([[0], (at[1:] + at[:-1]) // 2, [len(dark) - 1]])
    rises, falls = [], []
    for k, top in enumerate(at):
        rises.append(bounds[k] + int(np.argmax(change[bounds[k] : top + 1])))
        falls.append(top + int(np.argmin(change[top : bounds[k + 1] + 1])))
    rise, fall = np.array(rises), np.array(falls)
    sharp_rise = float(np.median(change[rise] + change[fall])) > 0
    edge, steep = (rise, change) if sharp_rise else (fall, -change)
    inside = np.clip(edge, 1, len(dark) - 2)
    left, middle, right = steep[inside - 1], steep[inside], steep[inside + 1]
    bend = np.minimum(left - 2 * middle + right, -1e-12)
    return np.asarray(inside + 0.5 + np.clip(0.5 * (left - right) / bend, -0.5, 0.5), np.float64)


def _odd(pixels: float) -> int:
    return max(1, 2 * int(pixels / 2) + 1)
