"""The lines' direction at every place: what slope is left once the picture is bent upright.

Two bands a little apart show the same profile across the grain, shifted by slope times distance. With the
mean profile p and the difference d of the two, least squares over a window gives slope = -sum(p_X d) /
sum(p_X p_X) / distance (Lucas and Kanade 1981, in one unknown). Marks across the grain have no p_X and drop
out, where a structure tensor would follow them. sum(p_X p_X) is taken between the two bands, whose noise is
independent, so that noise does not pull the slope towards zero.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_bands import Bands, Float32, coarser, column_means, every_other, gauss
from seamlight.grain.field_sharpen import weigh_frequencies
from seamlight.grain.field_straight import Straight, straighten, upright_at
from seamlight.grain.field_tilt import rough_slopes
from seamlight.one_thread import one_blas_thread

Array = NDArray[np.float64]

GRID_MM = 3.0
BLOCK_MM = 5.0  # height of each of the two bands
APART_MM = 6.0  # between their middles
RIM_COLUMNS = 5  # about a place that must be wood
LEAST_SHARE = 0.2  # of the power: a weaker line counts as that, so that noise gives no wild slope
LINE_MM = 0.6  # about the width of a line and its flanks
NOISE_TIMES = 2.0  # of its noise: what a closer look must show to be believed
CELL_MM = 1.0  # sums are first gathered in cells of this width
STRIP_ROWS = 32  # worked through at a time
FINE_MM = (2.0, 1.5)  # deviation of the window across and along: resolves 6 mm
WIDE_MM = (6.0, 12.0)  # the same where the fine window says nothing beyond its noise
ROUNDS_MM = (14.0, 7.0)
CALM = 0.015  # slope that a first bending may leave for no second to be needed
MOST_SMEAR_MM = 0.1  # of a leaning line within a coarser band
MOST_SLOPE = 0.6  # about 31 degrees, of the field and of what is left


@dataclass(frozen=True, eq=False)
class Direction:
    """Slope dx/dy and coherence on the grid."""

    x_mm: Array  # (n,)
    y_mm: Array  # (m,)
    slope: Array  # (m, n)
    coherence: Array  # (m, n)
    bands: Bands  # those that it was read from, no line smeared in them


def grid_mm(read: Bands) -> tuple[Array, Array]:
    """Centres of the grid's places, at most GRID_MM apart, half a step in from the picture's border."""
    rows, columns = read.figure.shape

    def centres(length_mm: float) -> Array:
        count = max(1, int(np.ceil(length_mm / GRID_MM)))
        return np.asarray((np.arange(count) + 0.5) * length_mm / count, np.float64)

    return centres(columns * read.column_mm), centres(rows * read.row_mm)


@one_blas_thread
def direction(read: Bands) -> Direction:
    """Rough slopes, one or two bendings by a smooth field, then the fine field."""
    x_mm, y_mm = grid_mm(read)
    tile_x, tile_y, rough = rough_slopes(read)
    slope = _on_grid(tile_x, tile_y, rough, x_mm, y_mm)
    coarse = coarser(read)
    sparse = every_other(coarse)
    for smooth_mm in ROUNDS_MM:
        straight = straighten(sparse, x_mm, y_mm, slope)
        left = _residual(_sums(straight, 2 * CELL_MM, x_mm, y_mm), WIDE_MM)
        calm = float(np.quantile(np.abs(left.slope - slope), 0.9)) < CALM
        slope = _smooth(left.slope, left.trust, ROUNDS_MM[-1] if calm else smooth_mm)
        if calm:
            break
    upright = np.quantile(np.abs(slope), 0.9) * coarse.row_mm < MOST_SMEAR_MM
    used = coarse if upright else read
    sums = _sums(straighten(used, x_mm, y_mm, slope), CELL_MM, x_mm, y_mm)
    fine, wide = _residual(sums, FINE_MM), _residual(_halved(sums), WIDE_MM)
    slope = _blend(_blend(slope, wide, 12.0), fine, 6.0)
    return Direction(x_mm, y_mm, slope, fine.coherence, used)


@dataclass(frozen=True, eq=False)
class _Sums:
    """Products in cells (rows, columns) of the upright picture, and where the grid's places lie in it."""

    cross: Float32  # of the two bands' derivatives across
    shift: Float32  # of the mean derivative across and the difference along
    power: Float32  # of the derivatives across, both bands' mean
    change: Float32  # of the difference along, squared
    row_mm: float
    column_mm: float
    at: tuple[Float32, Float32]  # column and row in cells of each place of the leaf's grid (m, n)
    down: Array  # slope of the upright columns at each place
    aside: Array  # d drift / dX there


@dataclass(frozen=True, eq=False)
class _Residual:
    slope: Array  # on the leaf's grid, bending included
    trust: Array  # sum of p_X^2 in the window
    variance: Array  # of the slope
    coherence: Array


def _sums(straight: Straight, cell_mm: float, x_mm: Array, y_mm: Array) -> _Sums:
    rows = len(straight.figure)
    half = max(1, min(round(APART_MM / straight.row_mm / 2), (rows - 1) // 2))
    block = max(1, round(BLOCK_MM / straight.row_mm))
    mean, across = weigh_frequencies(straight, block)
    full = _inner(straight.weight, block)
    many = max(1, round(cell_mm / straight.column_mm))
    cross, shift, power, change = _gathered(mean, across, full, half, many)
    # the two bands' mean derivative, and their difference by the distance between them
    half_of, per_mm = np.float32(0.5), np.float32(1 / (2 * half * straight.row_mm))
    shift *= half_of * per_mm
    power *= half_of
    change *= per_mm * per_mm
    column_mm = many * straight.column_mm
    upright = upright_at(straight, x_mm, y_mm)
    down, aside = _drift_slopes(straight, upright, y_mm)
    column = ((upright - straight.start_mm) / column_mm - 0.5).astype(np.float32)
    row = np.repeat((y_mm / straight.row_mm - 0.5).astype(np.float32)[:, None], column.shape[1], axis=1)
    return _Sums(cross, shift, power, change, straight.row_mm, column_mm, (column, row), down, aside)


def _inner(weight: Float32, block: int) -> Float32:
    """1 where all of a block of rows about a place is wood, and RIM_COLUMNS across."""
    kernel = np.ones((block, RIM_COLUMNS), np.uint8)
    return np.asarray(cv2.erode(weight, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0), np.float32)


def _gathered(mean: Float32, across: Float32, full: Float32, half: int, many: int) -> Float32:
    """(4, rows, cells) what `_Sums` gathers, but for constant factors, in cells of `many` columns.

    Each comes from the bands `half` rows above and below; where there is none it is 0. Worked through in
    strips that stay in the processor's cache.
    """
    rows, columns = mean.shape
    wide = -(-columns // many)
    cells = np.zeros((4, rows, wide), np.float32)
    products = np.zeros((4, STRIP_ROWS, many * wide), np.float32)
    for first in range(half, rows - half, STRIP_ROWS):
        high = min(STRIP_ROWS, rows - half - first)
        above, below = (slice(first + shift, first + shift + high) for shift in (-half, half))
        kept = full[above] * full[below]
        along = (mean[below] - mean[above]) * kept
        upper, lower = across[above] * kept, across[below] * kept
        cross, shift, power, change = products[:, :high, :columns]
        np.multiply(upper, lower, out=cross)
        np.multiply(np.add(upper, lower, out=shift), along, out=shift)
        np.add(upper * upper, lower * lower, out=power)
        np.multiply(along, along, out=change)
        gathered = column_means(products.reshape(-1, many * wide), many).reshape(4, STRIP_ROWS, wide)
        cells[:, first : first + high] = gathered[:, :high]
    return cells


def _halved(sums: _Sums) -> _Sums:
    """The same in cells twice as large, for a wide window."""
    rows, columns = sums.cross.shape
    size = -(-columns // 2), -(-rows // 2)

    def pairs(part: Float32) -> Float32:
        whole = cv2.copyMakeBorder(part, 0, rows % 2, 0, columns % 2, cv2.BORDER_CONSTANT, value=0)
        return np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), np.float32)

    cross, shift, power, change = (pairs(part) for part in (sums.cross, sums.shift, sums.power, sums.change))
    half = np.float32(0.5)
    at = (sums.at[0] + half) * half - half, (sums.at[1] + half) * half - half
    return _Sums(cross, shift, power, change, 2 * sums.row_mm, 2 * sums.column_mm, at, sums.down, sums.aside)


def _residual(sums: _Sums, window_mm: tuple[float, float]) -> _Residual:
    sx, sy = window_mm[0] / sums.column_mm, window_mm[1] / sums.row_mm
    cross, shift, power, change = (
        gauss(part, sx, sy) for part in (sums.cross, sums.shift, sums.power, sums.change)
    )
    # of a figure whose deviation is about 1: a picture without any has rounding errors for figure
    floor = np.float32(1e-4 * float(power.mean()) + 1e-3)
    base = np.maximum(cross, LEAST_SHARE * power) + floor
    # a line's width times the two bands' height counts as one independent place
    count = max(1.0, 4 * np.pi * window_mm[0] * window_mm[1] / (LINE_MM * BLOCK_MM))
    variance = np.maximum(change - shift * shift / base, 0) / base / count
    coherence = np.clip(cross / (power + floor), 0, 1)
    left, trust, spread, alike = (
        _read_off(part, sums.at) for part in (-shift / base, cross, variance, coherence)
    )
    # slope in the leaf of a line that leans by `left` in the upright picture (chain rule)
    return _Residual(sums.down + (1 + sums.aside) * left, trust, spread, alike)


def _read_off(part: Float32, at: tuple[Float32, Float32]) -> Array:
    return np.asarray(cv2.remap(part, *at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)


def _drift_slopes(straight: Straight, upright: Array, y_mm: Array) -> tuple[Array, Array]:
    """Change of the drift along and across at places X, y of the upright picture."""
    column = ((upright - straight.start_mm) / straight.column_mm - 0.5).astype(np.float32)
    row = np.repeat((y_mm / straight.row_mm - 0.5).astype(np.float32)[:, None], column.shape[1], axis=1)

    def drift(columns: int, rows: int) -> Array:
        return _read_off(straight.drift_mm, (column + np.float32(columns), row + np.float32(rows)))

    down = (drift(0, 1) - drift(0, -1)) / (2 * straight.row_mm)
    aside = (drift(8, 0) - drift(-8, 0)) / (16 * straight.column_mm)
    return down, aside


def _on_grid(from_x: Array, from_y: Array, values: Array, x_mm: Array, y_mm: Array) -> Array:
    across = np.stack([np.interp(x_mm, from_x, row) for row in values])
    return np.stack([np.interp(y_mm, from_y, column) for column in across.T], axis=1)


def _smooth(slope: Array, trust: Array, deviation_mm: float) -> Array:
    """Weighted Gaussian mean, nothing beyond the border."""
    scale = deviation_mm / GRID_MM
    weight = (trust / (np.median(trust) + 1e-12)).clip(0, 4).astype(np.float32) + 1e-4
    flat = np.clip(slope, -MOST_SLOPE, MOST_SLOPE).astype(np.float32)
    mean = gauss(flat * weight, scale, scale) / np.maximum(gauss(weight, scale, scale), 1e-9)
    return np.asarray(mean, np.float64)


def _blend(base: Array, closer: _Residual, deviation_mm: float) -> Array:
    """`base` bettered by a closer look where the two differ by more than the look's noise (Wiener's share).

    Difference and noise are taken over a neighbourhood in which places count by their trust.
    """
    scale = deviation_mm / GRID_MM
    differs = closer.slope - base
    weight = np.clip(closer.trust / (np.median(closer.trust) + 1e-12), 1e-3, 4)

    def around(values: Array) -> Array:
        return np.asarray(gauss((values * weight).astype(np.float32), scale, scale), np.float64)

    found = around(differs * differs)
    share = np.clip(1 - NOISE_TIMES * around(closer.variance) / np.maximum(found, 1e-12), 0, 1)
    return np.asarray(base + share * np.clip(differs, -MOST_SLOPE, MOST_SLOPE), np.float64)
