"""Ring spacing at every place, counted from the ring lines.

Rings are numbered across the leaf; between two lines the number grows evenly. Spacing is the length over
which it grows by one, taken over 6 mm, square to the lines.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from seamlight.grain.field_direction import Direction
from seamlight.grain.field_straight import Straight, upright_at
from seamlight.grain.ring_tracks import LEAST_LIKENESS, Tracks

Array = NDArray[np.float64]

OVER_MM = 6.0
FEWEST_LINES = 4
USUAL_OF = 19  # gaps whose median is the usual ring
WIDENS = 1.4  # times its neighbour: as fast as rings get wider toward an edge
TWO_RINGS = 1.6  # usual rings: a wider gap has lost a line, unless
MOST_UNLIKE = 1.9  # times the middle of the neighbours within 25 mm: more is a reading gone wrong
TOO_WIDE = 3.0  # usual rings: a gap that is no ring and no two
CLEAR = 0.96  # the figure goes on along the grain this well


def spacing(found: Direction, straight: Straight, tracks: Tracks) -> Array:
    """Spacing in mm on the grid of the direction field (m, n); NaN where rings can't be told."""
    across = np.full((len(tracks.y_mm), len(found.x_mm)), np.nan)
    upright = upright_at(straight, found.x_mm, tracks.y_mm)
    for row, y in enumerate(tracks.y_mm):
        lines = tracks.upright_mm[:, row]
        lines = np.sort(lines[np.isfinite(lines)])
        if len(lines) < FEWEST_LINES:
            continue
        k = int(np.clip(round(y / straight.row_mm - 0.5), 0, len(straight.drift_mm) - 1))
        there = lines + np.interp(lines, tracks.columns_mm, straight.drift_mm[k])
        clear = np.interp(lines, tracks.columns_mm, tracks.likeness[row]) > CLEAR
        across[row] = _counted(there, _rings_in_gaps(there, clear), found.x_mm)
        like = np.interp(upright[row], tracks.columns_mm, tracks.likeness[row])
        across[row, like < LEAST_LIKENESS] = np.nan
    calm = _median_along(_without_strays(across))
    on_grid = _between(found.y_mm, tracks.y_mm, calm)
    # square to a line that leans by a: spacing across times cos a
    return np.asarray(on_grid / np.sqrt(1 + found.slope**2), np.float64)


def _rings_in_gaps(lines: Array, clear: NDArray[np.bool_]) -> Array:
    """Rings in each gap between lines: two in a gap of two usual rings in a poor figure; NaN: can't tell."""
    gaps = np.diff(lines)
    usual = median_filter(gaps, size=min(USUAL_OF, len(gaps)), mode="reflect")
    ratio = gaps / np.maximum(usual, 1e-9)
    wide = (ratio > TWO_RINGS) & ~_widening(gaps, ratio > TWO_RINGS)
    lost = wide & ~(clear[1:] & clear[:-1])
    grown = np.where(wide & (ratio > TOO_WIDE), np.nan, np.where(lost, np.rint(ratio), 1.0))
    return np.asarray(grown, np.float64)


def _widening(gaps: Array, wide: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Wide gaps at either edge that got there step by step: rings cut ever flatter, where none is lost."""
    found = np.zeros(len(gaps), np.bool_)
    narrow = np.flatnonzero(~wide)
    if len(narrow):
        for k in range(narrow[-1] + 1, len(gaps)):
            if gaps[k] > WIDENS * gaps[k - 1]:
                break
            found[k] = True
        for k in range(narrow[0] - 1, -1, -1):
            if gaps[k] > WIDENS * gaps[k + 1]:
                break
            found[k] = True
    return found


def _counted(lines: Array, grown: Array, x_mm: Array) -> Array:
    """Mean distance of lines round each x over OVER_MM; NaN where rings are told in less than a third."""
    told = np.isfinite(grown)
    number = np.concatenate([[0.0], np.cumsum(np.where(told, grown, 0.0))])
    length = np.concatenate([[0.0], np.cumsum(np.where(told, np.diff(lines), 0.0))])
    low, high = x_mm - OVER_MM / 2, x_mm + OVER_MM / 2
    wide = np.interp(high, lines, length) - np.interp(low, lines, length)
    rings = np.interp(high, lines, number) - np.interp(low, lines, number)
    return np.where(wide > OVER_MM / 3, wide / np.maximum(rings, 1e-9), np.nan)


def _without_strays(values: Array) -> Array:
    """NaN where a place is nothing like the middle of its neighbours across the grain."""
    middle = _running_median(values.T, 8).T
    with np.errstate(invalid="ignore"):
        like = (values < MOST_UNLIKE * middle) & (values * MOST_UNLIKE > middle)
    return np.where(like, values, np.nan)


def _median_along(values: Array) -> Array:
    """Median of five stretches, of those that are read."""
    return _running_median(values, 2)


def _running_median(values: Array, reach: int) -> Array:
    """Median of a place and `reach` neighbours up and down; NaN where fewer than two are read."""
    padded = np.pad(values, ((reach, reach), (0, 0)), constant_values=np.nan)
    stack = np.stack([padded[k : k + len(values)] for k in range(2 * reach + 1)])
    # NaN sorts last, so the read ones come first
    stack.sort(axis=0)
    read = np.isfinite(stack).sum(axis=0)[None]
    low, high = (np.take_along_axis(stack, np.maximum(k, 0), axis=0)[0] for k in ((read - 1) // 2, read // 2))
    return np.where(read[0] >= 2, (low + high) / 2, np.nan)


def _between(at: Array, from_y: Array, values: Array) -> Array:
    """Columns of values (m, n) drawn to rows `at` between those read; NaN farther than a row from any."""
    near = np.abs(at[:, None] - from_y[None, :])
    step = float(from_y[1] - from_y[0]) if len(from_y) > 1 else np.inf
    drawn = np.full((len(at), values.shape[1]), np.nan)
    read = np.isfinite(values)
    for column in np.flatnonzero(read.any(axis=0)):
        rows = read[:, column]
        filled = np.interp(at, from_y[rows], values[rows, column])
        drawn[:, column] = np.where((near[:, rows] <= step).any(axis=1), filled, np.nan)
    return drawn
