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
from seamlight.grain.ragged import between_columns

Array = NDArray[np.float64]

REPEATS = 5
MOST_TURNS = 40  # a smooth field needs about five
NEAR_ENOUGH_MM = 1e-3
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
    drift = _follow(
        x_mm,
        y_mm,
        slope,
        rows * read.row_mm,
        columns * read.column_mm,
        _knot_columns(read.column_mm) * read.column_mm,
    )
    full = _spread(drift, rows, read)
    count = full.shape[1]
    column = full * np.float32(1 / read.column_mm)
    column += (drift.first_x / read.column_mm + np.arange(count)).astype(np.float32)
    row = np.empty_like(column)
    row[:] = np.arange(rows, dtype=np.float32)[:, None]
    figure = np.asarray(cv2.remap(read.figure, column, row, cv2.INTER_CUBIC, borderValue=0), np.float32)
    whole = np.asarray(cv2.remap(read.weight, column, row, cv2.INTER_NEAREST, borderValue=0), np.float32)
    figure *= whole
    return Straight(figure, whole, full, drift.first_x, read.row_mm, read.column_mm)


def upright_at(straight: Straight, x_mm: Array, y_mm: Array) -> Array:
    """X of the lines that pass the places x_mm, y_mm of a grid (m, n).

    X = x - drift(X) by repetition: the drift changes far less across than X itself.
    """
    place = (x_mm / straight.column_mm).astype(np.float32)
    row = np.repeat((y_mm / straight.row_mm - 0.5).astype(np.float32)[:, None], len(place), axis=1)
    offset = np.float32(straight.start_mm / straight.column_mm + 0.5)
    upright = np.repeat(place[None, :], len(y_mm), axis=0)
    for _ in range(REPEATS):
        drift = cv2.remap(
            straight.drift_mm, upright - offset, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        upright = place[None, :] - np.asarray(drift, np.float32) * np.float32(1 / straight.column_mm)
    return np.asarray(upright * straight.column_mm, np.float64)


@dataclass(frozen=True, eq=False)
class _Drift:
    values: Array  # (rows, columns) at knots KNOT_MM apart along, a number of columns apart across
    first_x: float
    first_y: float


def _knot_columns(column_mm: float) -> int:
    """An even number of columns, about KNOT_MM wide."""
    return 2 * max(1, round(KNOT_MM / column_mm / 2))


def _follow(
    x_mm: Array, y_mm: Array, slope: Array, height_mm: float, width_mm: float, apart_mm: float
) -> _Drift:
    """Lines `apart_mm` apart followed up and down from the middle row.

    By Picard's repetition with the trapezium rule, all lines at once: each turn adds up the slopes that are
    met on the lines of the turn before.
    """
    knots = np.arange(-1, int(np.ceil(height_mm / KNOT_MM)) + 2) * KNOT_MM
    place = np.interp(knots, y_mm, np.arange(len(y_mm)))
    above = place.astype(int)
    share = (place - above)[:, None]
    rows = slope[above] * (1 - share) + slope[np.minimum(above + 1, len(y_mm) - 1)] * share
    reach = float(np.max(np.abs(slope), initial=0.0)) * height_mm / 2 + 2 * KNOT_MM
    lines = np.arange(-np.ceil(reach / apart_mm), np.ceil((width_mm + reach) / apart_mm) + 1) * apart_mm
    row = np.arange(len(knots))[:, None]
    step_mm = float(x_mm[1] - x_mm[0]) if len(x_mm) > 1 else 1.0
    drift = np.zeros((len(knots), len(lines)))
    for _ in range(MOST_TURNS):
        before = drift
        leans = between_columns(rows, row, (lines + before - x_mm[0]) / step_mm)
        drift = np.zeros_like(before)
        np.cumsum((leans[1:] + leans[:-1]) * (KNOT_MM / 2), axis=0, out=drift[1:])
        drift -= drift[len(knots) // 2]
        if np.abs(drift - before).max() < NEAR_ENOUGH_MM:
            break
    # lines that never come near the leaf are not drawn
    at = lines + drift
    near = np.flatnonzero(((at > -apart_mm) & (at < width_mm + apart_mm)).any(axis=0))
    drawn = slice(int(near[0]), int(near[-1]) + 1)
    return _Drift(drift[:, drawn], float(lines[drawn][0]), float(knots[0]))


def _spread(drift: _Drift, rows: int, read: Bands) -> Float32:
    """The drift at every place of the upright picture, from the first knot to the last: cubic along, linear
    across.
    """
    y = np.asarray(((np.arange(rows) + 0.5) * read.row_mm - drift.first_y) / KNOT_MM, np.float64)
    values = drift.values.astype(np.float32)
    tall = np.zeros((rows, values.shape[1]), np.float32)
    for offset, weight in _cubic(y):
        tall += weight[:, None] * values[np.clip(np.floor(y).astype(int) + offset, 0, len(values) - 1)]
    # made larger by a whole number, knot k lies between columns (k + 1/2) many - 1 and that
    many = _knot_columns(read.column_mm)
    wide = cv2.resize(tall, (values.shape[1] * many, rows), interpolation=cv2.INTER_LINEAR)
    return np.ascontiguousarray(wide[:, many // 2 : -(many // 2)], np.float32)


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
