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
CELL_MM = 1.0  # in which level and contrast are reckoned
LEAST_ROWS = 8
STRIP_ROWS = 32
MANY = 4  # columns that are taken together, so their number is a multiple


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
    """(h, w, 3) colours and (h, w) wood at a scale -> the figure in bands.

    A band is a whole number of pixel rows; what is left over at the end, less than a band, is not looked at.
    """
    height, width = wood.shape
    tall = max(1, min(round(px_per_mm * BAND_MM), height // LEAST_ROWS))
    columns = MANY * max(2, round(width / px_per_mm * min(px_per_mm, MOST_PX_PER_MM) / MANY))
    row_mm, column_mm = tall / px_per_mm, width / px_per_mm / columns
    light = _light(rgb, tall, columns)
    size = (columns, len(light))
    whole = np.asarray(cv2.resize(_whole_rows(wood, tall), size, interpolation=cv2.INTER_NEAREST), np.uint8)
    weight = _without_rim(whole, row_mm, column_mm)
    return Bands(_figure(light, weight, row_mm, column_mm), weight, row_mm, column_mm)


def coarser(read: Bands) -> Bands:
    """The same with rows twice as high."""
    rows = len(read.figure) // 2 * 2
    if rows < 2 * LEAST_ROWS:
        return read
    whole = read.weight[0:rows:2] * read.weight[1:rows:2]
    figure = read.figure[0:rows:2] + read.figure[1:rows:2]
    figure *= np.float32(0.5)
    figure *= whole
    return Bands(figure, whole, 2 * read.row_mm, read.column_mm)


def every_other(read: Bands) -> Bands:
    """Every other row alone: half the picture for a first look, no line smeared; y is off by half a row."""
    if len(read.figure) < 2 * LEAST_ROWS:
        return read
    part = slice(0, len(read.figure) // 2 * 2, 2)
    figure, weight = (np.ascontiguousarray(picture[part]) for picture in (read.figure, read.weight))
    return Bands(figure, weight, 2 * read.row_mm, read.column_mm)


def _light(rgb: Rgb, tall: int, columns: int) -> Float32:
    """Lightness (rows, columns): the mean of every `tall` pixel rows, drawn to a number of columns.

    Worked through in strips that stay in the processor's cache.
    """
    rows = len(rgb) // tall
    light = np.empty((rows, columns), np.float32)
    for first in range(0, rows, STRIP_ROWS):
        strip = light[first : first + STRIP_ROWS]
        gray = np.asarray(cv2.cvtColor(rgb[first * tall : (first + len(strip)) * tall], cv2.COLOR_RGB2GRAY))
        total = gray[0::tall].astype(np.float32)
        for k in range(1, tall):
            total += gray[k::tall]
        total *= np.float32(1 / tall)
        strip[:] = cv2.resize(total, (columns, len(strip)), interpolation=cv2.INTER_AREA)
    return light


def _whole_rows(wood: Mask, tall: int) -> NDArray[np.uint8]:
    """1 where all of every `tall` rows is wood."""
    end = len(wood) // tall * tall
    whole = wood[0:end:tall].copy()
    for k in range(1, tall):
        whole &= wood[k:end:tall]
    return whole.view(np.uint8)


def _without_rim(wood: NDArray[np.uint8], row_mm: float, column_mm: float) -> Float32:
    across, along = odd(2 * RIM_MM / column_mm), odd(2 * RIM_MM / row_mm)
    kernel = np.ones((along, across), np.uint8)
    inner = cv2.erode(wood, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(inner, np.float32)


def _figure(light: Float32, weight: Float32, row_mm: float, column_mm: float) -> Float32:
    """Lightness over its own level, of even contrast, in place of `light`.

    What is broad is reckoned in cells as wide as MANY columns or, in a small picture, about CELL_MM.
    """
    rows, columns = light.shape
    many = next(part for part in (MANY, MANY // 2, 1) if part == 1 or part * column_mm <= 1.5 * CELL_MM)
    cell_mm = many * column_mm
    scratch = np.multiply(light, weight)

    def cells(picture: Float32) -> Float32:
        size = (columns // many, rows)
        return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.float32)

    def draw(picture: Float32) -> None:
        cv2.resize(picture, (columns, rows), dst=scratch, interpolation=cv2.INTER_LINEAR)

    across = odd(LEVEL_MM / cell_mm)
    share = cells(weight)
    # a box twice: no side lobes to speak of
    seen, there = (box(box(part, across, 1), across, 1) for part in (cells(scratch), share))
    draw(np.maximum(seen / np.maximum(there, np.float32(1e-3)), np.float32(1)))
    change = np.divide(light, scratch, out=light)
    change -= np.float32(1)
    change *= weight
    broad, tall = odd(EVEN_MM / cell_mm), odd(EVEN_MM / row_mm)
    there = np.maximum(box(share, broad, tall), np.float32(1e-3))
    for _ in range(2):  # once more with what the streaks no longer spoil
        np.multiply(change, change, out=scratch)
        power = box(cells(scratch), broad, tall) / there
        deviation = np.sqrt(np.maximum(power, np.float32(1e-8)))
        draw(deviation * np.float32(CLIP))
        np.minimum(change, scratch, out=change)
        np.maximum(change, np.negative(scratch, out=scratch), out=change)
    change /= scratch
    change *= np.float32(-CLIP)
    return change


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
