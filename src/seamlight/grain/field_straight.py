"""The picture bent so that its grain lines stand upright.

A line that starts at X in the middle row runs along x = X + drift(X, y), with d drift / dy = slope(x, y).
In the bent picture the same line is the column X.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_bands import Bands, Float32

Array = NDArray[np.float64]

KNOT_MM = 6.0  # the drift is followed on a grid of this size and drawn smoothly between


@dataclass(frozen=True, eq=False)
class Straight:
    """Figure and weight in upright lines, and where each place came from.

    Column i stands for X = start_mm + (i + 0.5) * column_mm; row k for y = (k + 0.5) * row_mm.
    `drift_mm` (rows, columns) is x - X.
    """

    figure: Float32
    weight: Float32
    drift_mm: Float32
    start_mm: float
    row_mm: float
    column_mm: float

    def columns_mm(self) -> Array:
        """X of every column."""
        return np.asarray(
            self.start_mm + (np.arange(self.figure.shape[1]) + 0.5) * self.column_mm, np.float64
        )

    def rows_mm(self) -> Array:
        """y of every row."""
        return np.asarray((np.arange(self.figure.shape[0]) + 0.5) * self.row_mm, np.float64)


def straighten(read: Bands, x_mm: Array, y_mm: Array, slope: Array) -> Straight:
    """Bend the bands by a smooth slope field (m, n) given at x_mm, y_mm."""
    rows, columns = read.figure.shape
    width_mm = columns * read.column_mm
    start_mm, end_mm, drift = _follow(x_mm, y_mm, slope, rows * read.row_mm, width_mm)
    count = int(np.ceil((end_mm - start_mm) / read.column_mm))
    full = _spread(drift, rows, count, read, start_mm)
    at = (start_mm + (np.arange(count, dtype=np.float32) + 0.5) * read.column_mm)[None, :] + full
    column = (at / read.column_mm - 0.5).astype(np.float32)
    row = np.broadcast_to(np.arange(rows, dtype=np.float32)[:, None], column.shape)
    row = np.ascontiguousarray(row)
    figure = np.asarray(cv2.remap(read.figure, column, row, cv2.INTER_CUBIC, borderValue=0), np.float32)
    whole = np.asarray(cv2.remap(read.weight, column, row, cv2.INTER_NEAREST, borderValue=0), np.float32)
    return Straight(
        np.asarray(figure * whole, np.float32), whole, full, start_mm, read.row_mm, read.column_mm
    )


def upright_at(straight: Straight, x_mm: Array, y_mm: Array) -> Array:
    """X of the lines that pass the places x_mm, y_mm of a grid (m, n)."""
    lines = straight.columns_mm()[::4]
    rows = np.clip(np.rint(y_mm / straight.row_mm - 0.5).astype(int), 0, len(straight.drift_mm) - 1)
    drift = straight.drift_mm[rows, ::4]
    return np.stack([np.interp(x_mm, lines + shift, lines) for shift in drift])


@dataclass(frozen=True, eq=False)
class _Drift:
    values: Array  # (rows, columns) at knots KNOT_MM apart
    first_x: float
    first_y: float


def _follow(
    x_mm: Array, y_mm: Array, slope: Array, height_mm: float, width_mm: float
) -> tuple[float, float, _Drift]:
    """Lines followed up and down from the middle row by Heun's rule."""
    knots = np.arange(-1, int(np.ceil(height_mm / KNOT_MM)) + 2) * KNOT_MM
    rows = np.empty((len(knots), len(x_mm)))
    for j in range(len(x_mm)):
        rows[:, j] = np.interp(knots, y_mm, slope[:, j])
    reach = float(np.max(np.abs(slope), initial=0.0)) * height_mm / 2 + 2 * KNOT_MM
    lines = np.arange(-reach, width_mm + reach + KNOT_MM, KNOT_MM)
    drift = np.zeros((len(knots), len(lines)))
    middle = len(knots) // 2
    for way in (1, -1):
        k = middle
        while 0 <= k + way < len(knots):
            step = way * KNOT_MM
            first = np.interp(lines + drift[k], x_mm, rows[k])
            second = np.interp(lines + drift[k] + step * first, x_mm, rows[k + way])
            drift[k + way] = drift[k] + step * (first + second) / 2
            k += way
    return float(lines[0]), float(lines[-1]), _Drift(drift, float(lines[0]), float(knots[0]))


def _spread(drift: _Drift, rows: int, columns: int, read: Bands, start_mm: float) -> Float32:
    x = (start_mm + (np.arange(columns) + 0.5) * read.column_mm - drift.first_x) / KNOT_MM
    y = np.asarray(((np.arange(rows) + 0.5) * read.row_mm - drift.first_y) / KNOT_MM, np.float64)
    values = drift.values.astype(np.float32)
    tall = np.zeros((rows, values.shape[1]), np.float32)
    for offset, weight in _cubic(y):
        tall += weight[:, None] * values[np.clip(np.floor(y).astype(int) + offset, 0, len(values) - 1)]
    wide = np.zeros((rows, columns), np.float32)
    whole = np.floor(x).astype(int)
    for offset, share in ((0, 1 - (x - whole)), (1, x - whole)):
        wide += share.astype(np.float32) * tall[:, np.clip(whole + offset, 0, values.shape[1] - 1)]
    return wide


def _cubic(at: Array) -> list[tuple[int, Float32]]:
    """Weights of the four neighbours in a cubic B-spline (smooth to the second derivative)."""
    t = (at - np.floor(at)).astype(np.float32)
    weights = (
        (1 - t) ** 3 / 6,
        (3 * t**3 - 6 * t**2 + 4) / 6,
        (-3 * t**3 + 3 * t**2 + 3 * t + 1) / 6,
        t**3 / 6,
    )
    return [(offset, np.asarray(weight, np.float32)) for offset, weight in enumerate(weights, -1)]
