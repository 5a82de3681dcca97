"""Rows of different length kept end to end in one array, so that all are worked through at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import rank_filter

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

APART = 1.0e5  # between rows laid out on one line; far more than any row is long


@dataclass(frozen=True, eq=False)
class Rows:
    """Which row each value belongs to; rows follow each other and any may be empty."""

    row_of: Whole  # (values,), never falling
    count: int  # of rows

    @cached_property
    def lengths(self) -> Whole:
        """(rows,) values in each row."""
        return np.asarray(np.bincount(self.row_of, minlength=self.count), np.int64)

    @cached_property
    def starts(self) -> Whole:
        """(rows,) where each row's values begin."""
        return np.asarray(np.cumsum(self.lengths) - self.lengths, np.int64)

    @cached_property
    def within(self) -> Whole:
        """(values,) each value's place in its own row."""
        return np.asarray(np.arange(len(self.row_of)) - self.starts[self.row_of], np.int64)

    def of(self, part: NDArray[np.bool_]) -> Rows:
        """The rows of the values that `part` keeps."""
        return Rows(self.row_of[part], self.count)

    def split(self, values: Array) -> list[Array]:
        """Each row's values."""
        return np.split(values, self.starts[1:])

    def gaps(self) -> Rows:
        """The rows of what lies between each value and the next of its row (`differences`)."""
        return Rows(self.row_of[1:][self.row_of[1:] == self.row_of[:-1]], self.count)

    def differences(self, values: Array) -> Array:
        """Each value's distance to the next of its row."""
        return np.asarray(np.diff(values)[self.row_of[1:] == self.row_of[:-1]])


def at_share(values: Array, rows: Rows, share: float) -> Array:
    """(rows,) the value in each row that this share of the row lies below; 0 in an empty row."""
    most = max(1, int(rows.lengths.max(initial=0)))
    table = np.full((rows.count, most), np.inf)
    table[rows.row_of, rows.within] = values
    table.sort(axis=1)
    rank = np.maximum(share * (rows.lengths - 1), 0).astype(np.int64)
    return np.asarray(np.where(rows.lengths > 0, table[np.arange(rows.count), rank], 0.0))


@dataclass(frozen=True, eq=False)
class Windows:
    """A window about each value within its row, mirrored at the row's ends."""

    rows: Rows
    sizes: Whole  # (rows,) values in the window

    def running(self, values: Array, percent: float) -> Array:
        """Running percentile of each row's values."""
        out = np.empty(len(values))
        for size, padded, inner, into in self._parts:
            # `rank_filter`'s own rule at the ends has no say in what is kept
            ranked = rank_filter(values[padded], int(percent / 100 * size), size, mode="nearest")
            out[into] = ranked[inner]
        return out

    @cached_property
    def _parts(self) -> list[tuple[int, Whole, Whole, Whole | slice]]:
        """For each size of window: what to lay end to end, what of that is kept, whose place it takes."""
        sizes = np.unique(self.sizes[self.rows.lengths > 0]).tolist()
        parts: list[tuple[int, Whole, Whole, Whole | slice]] = []
        for size in sizes:
            of_size = self.sizes == size
            padded, inner = _mirrored(self.rows, np.where(of_size, self.rows.lengths, 0), size // 2)
            into = slice(None) if len(sizes) == 1 else np.flatnonzero(of_size[self.rows.row_of])
            parts.append((size, padded, inner, into))
        return parts


def _mirrored(rows: Rows, lengths: Whole, reach: int) -> tuple[Whole, Whole]:
    """Indices that lay rows end to end with `reach` mirrored values at each end, and the rows' own places.

    Args:
        rows: the rows.
        lengths: (rows,) their lengths; 0 leaves a row out.
        reach: at most the shortest row's length.
    """
    wide = np.where(lengths > 0, lengths + 2 * reach, 0)
    row_of = np.repeat(np.arange(rows.count), wide)
    place = np.arange(len(row_of)) - (np.cumsum(wide) - wide + reach)[row_of]
    last = (lengths - 1)[row_of]
    inner = np.flatnonzero((place >= 0) & (place <= last))
    place = np.where(place < 0, -1 - place, place)
    place = np.minimum(place, 2 * last + 1 - place)
    return np.asarray(rows.starts[row_of] + place, np.int64), inner


def on_one_line(values: Array, row_of: Whole) -> Array:
    """Values moved so far apart by their rows that one search over all finds them row by row."""
    return np.asarray(values + APART * row_of, np.float64)


def between_columns(table: Array | NDArray[np.float32], row: Whole, place: Array) -> Array:
    """Values of a table (rows, columns) at fractions of a column, in given rows; clamped at the ends."""
    columns = table.shape[1]
    place = np.clip(place, 0, columns - 1)
    left = np.minimum(place.astype(np.int64), max(0, columns - 2))
    at = row * columns + left
    flat = table.ravel()
    share = place - left
    return np.asarray(flat[at] * (1 - share) + flat[np.minimum(at + 1, flat.size - 1)] * share, np.float64)
