"""From a phone's code values back to light.

A picture's codes are first taken as sRGB says; how far the phone's own curve bends them beyond that, in three
smooth waves, is fitted where known shims and the lamp pin it down (`light_calibrate`).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
F32 = NDArray[np.float32]
Rgb = NDArray[np.uint8]

_CODES = np.arange(256) / 255.0


def _decoded(code: Floats) -> Floats:
    """Light of sRGB code values 0..1 (IEC 61966-2-1)."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


_SRGB = _decoded(_CODES)

CLIPPED = 250  # a code from which a channel may have been cut off


@dataclass(frozen=True)
class Tone:
    """The curve beyond sRGB, which decodes code + a sin(pi code) + b sin(2 pi code) + c sin(3 pi code)."""

    bend: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def table(self) -> Floats:
        """(256,) light 0..1 of each code, never falling."""
        waves = np.sin(np.pi * np.outer([1, 2, 3], _CODES))
        bent = np.maximum.accumulate(np.maximum(_CODES + np.array(self.bend) @ waves, 0.0))
        return _decoded(bent)

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
