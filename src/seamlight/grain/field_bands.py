"""The across-grain figure of a leaf, averaged into bands along the grain.

Grain changes slowly along itself and fast across: a leaf is read well from rows of 1 mm, which makes it small
and takes most noise and tooth marks with it. What lies across the grain over more than a few rings (saw
marks, bright streaks, shadows) is level within a row and goes with the row's own local mean.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Mask, Rgb

Float32 = NDArray[np.float32]

BAND_MM = 1.0
MOST_PX_PER_MM = 4.0  # across the grain: eight pixels on a ring of 2 mm, three on one of 0.75 mm
LEVEL_MM = 8.0  # figure broader than this is light or stain, not rings
EVEN_MM = 30.0  # contrast is made even over this distance
CLIP = 2.5  # a streak or a pore counts no more than this many deviations
RIM_MM = 1.2  # of the wood's edge, chipped or in shadow, left out


@dataclass(frozen=True, eq=False)
class Bands:
    """Figure with mean 0 and deviation about 1, and how far each place counts (0..1); both (rows, columns).

    The centre of (k, i) lies at x = (i + 0.5) * column_mm, y = (k + 0.5) * row_mm in the leaf frame.
    """

    figure: Float32
    weight: Float32
    row_mm: float
    column_mm: float


def bands(rgb: Rgb, wood: Mask, px_per_mm: float) -> Bands:
    """(h, w, 3) colours and (h, w) wood at a scale -> the figure in bands."""
    height, width = wood.shape
    rows = max(8, round(height / px_per_mm / BAND_MM))
    columns = max(8, round(width / px_per_mm * min(px_per_mm, MOST_PX_PER_MM)))
    row_mm, column_mm = height / px_per_mm / rows, width / px_per_mm / columns
    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    size = (columns, rows)
    light = cv2.resize(gray, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    share = cv2.resize(wood.view(np.uint8) * np.uint8(255), size, interpolation=cv2.INTER_AREA)
    weight = _without_rim(share > 250, row_mm, column_mm)
    return Bands(_figure(light, weight, row_mm, column_mm), weight, row_mm, column_mm)


def coarser(read: Bands) -> Bands:
    """The same with rows twice as high."""
    rows, columns = read.figure.shape
    size = (columns, max(8, rows // 2))
    figure, weight = (
        np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), np.float32)
        for part in (read.figure, read.weight)
    )
    whole = np.asarray(weight > 0.99, np.float32)
    return Bands(figure * whole, whole, read.row_mm * rows / size[1], read.column_mm)


def _without_rim(wood: NDArray[np.bool_], row_mm: float, column_mm: float) -> Float32:
    across, along = odd(2 * RIM_MM / column_mm), odd(2 * RIM_MM / row_mm)
    kernel = np.ones((along, across), np.uint8)
    inner = cv2.erode(wood.astype(np.uint8), kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(inner, np.float32)


def _figure(light: Float32, weight: Float32, row_mm: float, column_mm: float) -> Float32:
    across = odd(LEVEL_MM / column_mm)
    seen: Float32 = light * weight
    for _ in range(2):  # a box twice: no side lobes to speak of
        seen = box(seen, across, 1)
    level = seen / np.maximum(box(box(weight, across, 1), across, 1), 1e-3)
    change = np.asarray((light / np.maximum(level, 1.0) - 1.0) * weight, np.float32)
    wide, tall = odd(EVEN_MM / column_mm), odd(EVEN_MM / row_mm)
    for _ in range(2):  # once more with what the streaks no longer spoil
        power = box(change * change, wide, tall) / np.maximum(box(weight, wide, tall), 1e-3)
        deviation = np.sqrt(np.maximum(power, 1e-8))
        change = np.clip(change, -CLIP * deviation, CLIP * deviation)
    return np.asarray(change / deviation, np.float32)


def odd(pixels: float) -> int:
    """The odd whole number of pixels nearest to a length in pixels, at least 1."""
    return max(1, 2 * int(pixels / 2) + 1)


def box(picture: Float32, across: int, along: int) -> Float32:
    """Running mean over a box, nothing beyond the border."""
    return np.asarray(cv2.blur(picture, (across, along), borderType=cv2.BORDER_CONSTANT), np.float32)


def gauss(picture: Float32, across: float, along: float) -> Float32:
    """Gaussian mean with deviations in pixels, nothing beyond the border; 0 leaves that direction alone."""
    size = (odd(6 * across) if across > 0 else 1, odd(6 * along) if along > 0 else 1)
    blurred = cv2.GaussianBlur(
        picture, size, sigmaX=max(across, 0.01), sigmaY=max(along, 0.01), borderType=cv2.BORDER_CONSTANT
    )
    return np.asarray(blurred, np.float32)
