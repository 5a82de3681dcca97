"""Ring spacing at every place, counted from the ring lines.

Rings are numbered across the leaf; between two lines the number grows evenly. Spacing is the length over
which it grows by one, taken over 6 mm, square to the lines.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_direction import Direction
from seamlight.grain.field_straight import Straight, upright_at
from seamlight.grain.ragged import Rows, Whole, Windows, between_columns, on_one_line
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
    upright = np.sort(tracks.upright_mm.T, axis=1)  # NaN last
    seen = np.isfinite(upright)
    seen &= seen.sum(axis=1, keepdims=True) >= FEWEST_LINES
    rows = Rows(np.nonzero(seen)[0], len(tracks.y_mm))
    across = np.full((len(tracks.y_mm), len(found.x_mm)), np.nan)
    told = np.flatnonzero(rows.lengths)
    if len(told):
        lines, clear = _on_leaf(upright[seen], rows, straight, tracks)
        across[told] = _counted(lines, rings_in_gaps(lines, clear, rows), rows, told, found.x_mm)
        at = upright_at(straight, found.x_mm, tracks.y_mm[told])
        like = between_columns(tracks.likeness, told[:, None], _column(at, tracks))
        across[told] = np.where(like < LEAST_LIKENESS, np.nan, across[told])
    calm = _median_along(_without_strays(across))
    on_grid = _between(found.y_mm, tracks.y_mm, calm)
    # square to a line that leans by a: spacing across times cos a
    return np.asarray(on_grid / np.sqrt(1 + found.slope**2), np.float64)


def _column(upright_mm: Array, tracks: Tracks) -> Array:
    """X of the upright picture as a fraction of its columns."""
    step_mm = tracks.columns_mm[1] - tracks.columns_mm[0]
    return np.asarray((upright_mm - tracks.columns_mm[0]) / step_mm, np.float64)


def _on_leaf(
    upright_mm: Array, rows: Rows, straight: Straight, tracks: Tracks
) -> tuple[Array, NDArray[np.bool_]]:
    """x of every stretch's lines in the leaf frame, and whether the figure is clear there."""
    column = _column(upright_mm, tracks)
    middle = np.rint(tracks.y_mm / straight.row_mm - 0.5).astype(np.int64)
    middle = np.clip(middle, 0, len(straight.drift_mm) - 1)
    lines = upright_mm + between_columns(straight.drift_mm, middle[rows.row_of], column)
    return lines, between_columns(tracks.likeness, rows.row_of, column) > CLEAR


def rings_in_gaps(lines: Array, clear: NDArray[np.bool_], rows: Rows) -> Array:
    """Rings in each gap between lines: two in a gap of two usual rings in a poor figure; NaN: can't tell.

    Args:
        lines: x of the lines, rising in each row.
        clear: whether the figure is clear at each line.
        rows: whose they are.
    """
    gaps, of_gaps = rows.differences(lines), rows.gaps()
    usual = Windows(of_gaps, np.minimum(USUAL_OF, of_gaps.lengths)).running(gaps, 50)
    ratio = gaps / np.maximum(usual, 1e-9)
    wide = ratio > TWO_RINGS
    for start, length in _ending_wide(wide, of_gaps):
        row = slice(start, start + length)
        wide[row] &= ~_widening(gaps[row], wide[row])
    goes_on = rows.row_of[1:] == rows.row_of[:-1]
    lost = wide & ~(clear[1:] & clear[:-1])[goes_on]
    grown = np.where(wide & (ratio > TOO_WIDE), np.nan, np.where(lost, np.rint(ratio), 1.0))
    return np.asarray(grown, np.float64)


def _ending_wide(wide: NDArray[np.bool_], rows: Rows) -> list[tuple[int, int]]:
    """Start and length of the rows that begin or end with a wide gap."""
    some = rows.lengths > 0
    starts, lengths = rows.starts[some], rows.lengths[some]
    at_end = wide[starts] | wide[starts + lengths - 1]
    return list(zip(starts[at_end].tolist(), lengths[at_end].tolist(), strict=True))


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


def _counted(lines: Array, grown: Array, rows: Rows, told: Whole, x_mm: Array) -> Array:
    """Mean distance of lines round each x over OVER_MM, of rows `told` (rows, x); NaN where rings are told in
    less than a third.
    """
    number, length = (
        _summed(part, rows) for part in (grown, np.where(np.isnan(grown), grown, rows.differences(lines)))
    )
    first, last = (lines[rows.starts[told] + end][:, None] for end in (0, rows.lengths[told] - 1))
    along = on_one_line(lines, rows.row_of)
    low, high = (
        on_one_line(np.clip(x_mm[None] + side * OVER_MM / 2, first, last), told[:, None]) for side in (-1, 1)
    )
    wide = np.interp(high, along, length) - np.interp(low, along, length)
    rings = np.interp(high, along, number) - np.interp(low, along, number)
    return np.where(wide > OVER_MM / 3, wide / np.maximum(rings, 1e-9), np.nan)


def _summed(in_gaps: Array, rows: Rows) -> Array:
    """What the gaps before each line of its row add up to; NaN counts nothing."""
    steps = np.zeros(len(rows.row_of))
    steps[1:][rows.row_of[1:] == rows.row_of[:-1]] = np.nan_to_num(in_gaps)
    return np.asarray(np.cumsum(steps), np.float64)


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
    rows = np.arange(len(values))[:, None]
    read = np.isfinite(values)
    before = np.maximum.accumulate(np.where(read, rows, -1), axis=0)
    after = np.minimum.accumulate(np.where(read, rows, len(values))[::-1], axis=0)[::-1]
    upper = np.clip(np.searchsorted(from_y, at, side="right") - 1, 0, len(values) - 1)
    lower = np.minimum(upper + 1, len(values) - 1)
    one, two = before[upper], after[lower]
    none = (one < 0) & (two >= len(values))
    # beyond the first and the last that are read, those speak
    one, two = np.where(one < 0, two, one), np.where(two >= len(values), one, two)
    one, two = np.where(none, 0, one), np.where(none, 0, two)
    gap = from_y[two] - from_y[one]
    share = np.clip((at[:, None] - from_y[one]) / np.where(gap > 0, gap, 1.0), 0, 1)
    column = np.arange(values.shape[1])[None]
    drawn = values[one, column] + share * (values[two, column] - values[one, column])
    step = float(from_y[1] - from_y[0]) if len(from_y) > 1 else np.inf
    near = np.minimum(np.abs(at[:, None] - from_y[one]), np.abs(at[:, None] - from_y[two])) <= step
    return np.where(near & ~none, drawn, np.nan)
