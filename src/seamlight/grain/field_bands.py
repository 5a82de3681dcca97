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
STRIP_ROWS = 128
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
    size = (columns, len(wood) // tall)
    whole = np.asarray(cv2.resize(_whole_rows(wood, tall), size, interpolation=cv2.INTER_NEAREST), np.uint8)
    weight = _without_rim(whole, row_mm, column_mm)
    return Bands(_figure(rgb, tall, weight, row_mm, column_mm), weight, row_mm, column_mm)


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
    """Lightness (rows, columns): the mean of every `tall` pixel rows, drawn to a number of columns."""
    gray = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    kind = np.uint16 if tall <= 257 else np.uint32  # 257 times 255 is the most that 16 bits hold
    total = np.add.reduce(gray.reshape(-1, tall, gray.shape[1]), axis=1, dtype=kind)
    mean = np.multiply(total, np.float32(1 / tall), dtype=np.float32)
    return np.asarray(cv2.resize(mean, (columns, len(mean)), interpolation=cv2.INTER_AREA), np.float32)


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


def _figure(rgb: Rgb, tall: int, weight: Float32, row_mm: float, column_mm: float) -> Float32:
    """Lightness over its own level, of even contrast; worked through in strips that stay in the processor's
    cache.

    What is broad is reckoned in cells as wide as MANY columns or, in a small picture, about CELL_MM.
    """
    rows, columns = weight.shape
    many = next(part for part in (MANY, MANY // 2, 1) if part == 1 or part * column_mm <= 1.5 * CELL_MM)
    cell_mm = many * column_mm
    strips = [slice(first, min(first + STRIP_ROWS, rows)) for first in range(0, rows, STRIP_ROWS)]
    figure = np.empty_like(weight)
    share, seen, power = (np.empty((rows, columns // many), np.float32) for _ in range(3))
    for strip in strips:
        light, inner = figure[strip], weight[strip]
        light[:] = _light(rgb[strip.start * tall : strip.stop * tall], tall, columns)
        share[strip], seen[strip] = column_means(inner, many), column_means(light * inner, many)
    level = _level(seen, share, odd(LEVEL_MM / cell_mm))
    for strip in strips:
        change = figure[strip]
        change /= _drawn(level[strip], columns)
        change -= np.float32(1)
        change *= weight[strip]
        power[strip] = column_means(change * change, many)
    broad, along = odd(EVEN_MM / cell_mm), odd(EVEN_MM / row_mm)
    there = np.maximum(box(share, broad, along), np.float32(1e-3))
    most = _most(box(power, broad, along) / there)
    for strip in strips:  # once more with what the streaks no longer spoil
        squared, limit = np.square(figure[strip]), _drawn(most[strip], columns)
        power[strip] = column_means(np.minimum(squared, np.square(limit, out=limit), out=squared), many)
    most = _most(box(power, broad, along) / there)
    for strip in strips:
        change = figure[strip]
        change /= _drawn(most[strip], columns)
        np.clip(change, np.float32(-1), np.float32(1), out=change)
        change *= np.float32(CLIP)
    return figure


def _drawn(cells: Float32, columns: int) -> Float32:
    """Cells drawn to a number of columns, linear between their middles."""
    size = (columns, len(cells))
    return np.asarray(cv2.resize(cells, size, interpolation=cv2.INTER_LINEAR), np.float32)


def _level(light: Float32, share: Float32, across: int) -> Float32:
    """Mean lightness of the wood about each cell: a box twice, which has no side lobes to speak of."""
    seen, there = (box(box(part, across, 1), across, 1) for part in (light, share))
    return np.maximum(seen / np.maximum(there, np.float32(1e-3)), np.float32(1))


def _most(power: NDArray[np.floating]) -> Float32:
    """How far the figure may go from its level where its mean square is `power`."""
    return np.asarray(np.sqrt(np.maximum(power, np.float32(1e-8))) * np.float32(CLIP), np.float32)


def column_means(picture: Float32, many: int) -> Float32:
    """Means (rows, columns / many) of every `many` columns, a number of times as many as there are."""
    mean = picture[:, 0::many].copy()
    for k in range(1, many):
        mean += picture[:, k::many]
    mean *= np.float32(1 / many)
    return mean


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
