"""From a phone's code values back to light.

A picture's codes are first taken as sRGB says; how far the phone's own curve bends light beyond that, a
smooth line through a few knots, is fitted where known shims and the lamp pin it down (`light_calibrate`).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Floats = NDArray[np.float64]
F32 = NDArray[np.float32]
Rgb = NDArray[np.uint8]

_CODES = np.arange(256) / 255.0


def _decoded(code: Floats) -> Floats:
    """Light of sRGB code values 0..1 (IEC 61966-2-1)."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


_SRGB = _decoded(_CODES)

CLIPPED = 250  # a code from which a channel may have been cut off


# where the curve is told, in code values: closer in the dark, where a curve bends light by more of itself
KNOTS = np.array([0.03, 0.08, 0.14, 0.21, 0.29, 0.38, 0.48, 0.60, 0.73, 0.87])
_BETWEEN = CubicSpline([*KNOTS, 1.0], np.eye(len(KNOTS) + 1)[:, :-1], bc_type="natural", extrapolate=False)(
    np.clip(_CODES, KNOTS[0], 1.0)
)  # (256, knots)


@dataclass(frozen=True)
class Tone:
    """The curve beyond sRGB: log of light over what sRGB says, at `KNOTS`, smooth between, 0 at full code."""

    bend: tuple[float, ...] = (0.0,) * len(KNOTS)

    def table(self) -> Floats:
        """(256,) light 0..1 of each code, never falling."""
        bent = _SRGB * np.exp(_BETWEEN @ np.array(self.bend))
        return np.asarray(np.maximum.accumulate(bent), dtype=np.float64)

    def slope(self) -> Floats:
        """(256,) by how much more light changes from code to code than sRGB says."""
        return np.asarray(np.gradient(self.table()) / np.gradient(_SRGB), dtype=np.float64)

    def light_of(self, srgb_light: Floats) -> Floats:
        """Light of what sRGB decoded already; any shape."""
        return np.asarray(np.interp(srgb_light, _SRGB, self.table()), dtype=np.float64)


def srgb_light(rgb: Rgb) -> F32:
    """(h, w) light 0..1 of a picture's luma as sRGB decodes it.

    Luma (ITU-R BT.601) is what JPEG keeps at full size; colour, kept at half, would smear a fine line.
    """
    return np.asarray(_SRGB[luma_of(rgb)], dtype=np.float32)


def luma_of(rgb: Rgb) -> Rgb:
    """(h, w) brightness in code values."""
    return np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def clipped(rgb: Rgb) -> NDArray[np.bool_]:
    """(h, w) where red or green, which carry most of the light, may have been cut off."""
    return np.asarray((rgb[..., 0] >= CLIPPED) | (rgb[..., 1] >= CLIPPED))
