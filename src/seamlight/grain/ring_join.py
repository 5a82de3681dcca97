"""Dips of the stretches of a leaf joined into lines.

Dips of one stretch are joined to the nearest of a later one when each is the other's nearest; the next
stretch comes first, one farther on only for dips that found no partner nearer by.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seamlight.grain.ragged import Array, Rows, Whole, on_one_line

REACH_MM = 0.35  # a line moves less than this from stretch to stretch
LONGEST_GAP = 3  # stretches over which a line may be lost from sight
LEAST_STRETCHES = 5  # a line runs on over at least about 80 mm
LEAST_WEAK = 14  # the same for one of weak dips, about 190 mm


def joined(places: Array, sure: NDArray[np.bool_], rows: Rows) -> Array:
    """Dips of all stretches joined into lines (lines, stretches); short ones left out, gaps filled.

    Args:
        places: (dips,) mm, rising in each stretch.
        sure: (dips,) which are sure to be lines.
        rows: which stretch each dip belongs to.
    """
    before = _partners(places, rows)
    line = _numbered(before)
    count = rows.count
    lines = int(line.max(initial=-1)) + 1
    times = np.bincount(line, minlength=lines)
    times_sure = np.bincount(line, weights=sure, minlength=lines)
    drawn = np.full((lines, count), np.nan)
    drawn[line, rows.row_of] = places
    _fill(drawn, line, places, before, rows)
    few = max(2, count // 2)  # of a short piece of wood
    return drawn[(times_sure >= min(LEAST_STRETCHES, few)) | (times >= min(LEAST_WEAK, few))]


def _partners(places: Array, rows: Rows) -> Whole:
    """(dips,) the dip of an earlier stretch that each goes on from; itself where there is none."""
    own = np.arange(len(places))
    before, followed = own.copy(), np.zeros(len(places), np.bool_)
    if not len(places):
        return before
    line = on_one_line(places, rows.row_of)
    for back in range(1, LONGEST_GAP + 1):
        alone = np.flatnonzero((before == own) & (rows.row_of >= back))
        to = _nearest(line, places[alone], rows.row_of[alone] - back, rows)
        alone, to = alone[to >= 0], to[to >= 0]
        fro = _nearest(line, places[to], rows.row_of[alone], rows)
        reach = REACH_MM * (1 + 0.25 * (back - 1))
        fits = (fro == alone) & ~followed[to] & (np.abs(places[alone] - places[to]) < reach)
        before[alone[fits]] = to[fits]
        followed[to[fits]] = True
    return before


def _nearest(line: Array, at: Array, there: Whole, rows: Rows) -> Whole:
    """The dip that is nearest to each place `at` in the stretch `there`; -1 where that has none."""
    first, number = rows.starts[there], rows.lengths[there]
    there_mm = on_one_line(at, there)
    right = np.searchsorted(line, there_mm)
    right = np.minimum(np.maximum(right, first), np.maximum(first + number - 1, 0))
    left = np.maximum(right - 1, first)
    nearer = np.abs(line[left] - there_mm) <= np.abs(line[right] - there_mm)
    return np.asarray(np.where(number > 0, np.where(nearer, left, right), -1), np.int64)


def _numbered(before: Whole) -> Whole:
    """(dips,) the number of each dip's line, in the order in which the lines begin."""
    begins = before == np.arange(len(before))
    root = before
    while not begins[root].all():
        root = root[root]
    return np.asarray(np.cumsum(begins)[root] - 1, np.int64)


def _fill(drawn: Array, line: Whole, places: Array, before: Whole, rows: Rows) -> None:
    """Lines drawn straight across the stretches in which they were lost from sight."""
    skipped = rows.row_of - rows.row_of[before]
    for away in range(2, LONGEST_GAP + 1):
        to = np.flatnonzero(skipped == away)
        start, step = places[before[to]], (places[to] - places[before[to]]) / away
        for k in range(1, away):
            drawn[line[to], rows.row_of[to] - away + k] = start + k * step
