"""Ring lines followed from stretch to stretch along the upright picture.

The picture is averaged over stretches along the grain; dips of one stretch are joined to the nearest of the
next when each is the other's nearest. What goes on over several stretches is a line of the wood; what stands
alone is noise, a streak or a pore.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_bands import Float32
from seamlight.grain.field_straight import Straight
from seamlight.grain.ring_profile import Bar, finer, rated_lines
from seamlight.grain.ring_sharpen import sharpened

Array = NDArray[np.float64]

STRETCH_MM = 36.0
STEP_MM = 12.0
APART = 3  # stretches: so far apart they share no wood
# in profiles that are averaged and sharpened; a weak dip counts where it goes on along much of the leaf
SURE = Bar(share=0.27, noise_times=3.2)
WEAK = Bar(share=0.19, noise_times=1.8)
FINER = 2  # profiles are drawn this many times finer
REACH_MM = 0.35  # a line moves less than this from stretch to stretch
LONGEST_GAP = 3  # stretches over which a line may be lost from sight
LEAST_STRETCHES = 5  # a line runs on over at least about 80 mm
LEAST_WEAK = 14  # the same for one of weak dips, about 190 mm
LEAST_LIKENESS = 0.55  # of profiles two stretches apart, for rings to be told


@dataclass(frozen=True, eq=False)
class Tracks:
    """Lines by stretches: X in the upright picture, NaN where a line does not reach; their likeness."""

    y_mm: Array  # (m,) middles of the stretches
    upright_mm: Array  # (lines, m)
    columns_mm: Array  # (n,) X of the upright picture's columns
    likeness: Array  # (m, n) correlation of each stretch's profile with those beyond its neighbours


def follow_lines(straight: Straight) -> Tracks:
    """Find the ring lines of the upright picture."""
    y_mm, profiles, seen = _profiles(straight)
    columns_mm = straight.columns_mm()
    profiles, noise = sharpened(profiles, seen, straight.column_mm, APART)
    likeness = _likeness(profiles, seen, straight.column_mm)
    step_mm = straight.column_mm / FINER
    found, sure = [], []
    for row, darkness in enumerate(_finer_darkness(profiles)):
        at, is_sure = rated_lines(darkness, step_mm, noise, SURE, WEAK)
        on_wood = seen[row, np.minimum(at // FINER, seen.shape[1] - 1)]
        found.append(straight.start_mm + (finer(darkness, at[on_wood]) + 0.5) * step_mm)
        sure.append(is_sure[on_wood])
    return Tracks(y_mm, _joined(found, sure), columns_mm, likeness)


def _profiles(straight: Straight) -> tuple[Array, Float32, NDArray[np.bool_]]:
    rows = straight.figure.shape[0]
    high = min(rows, max(1, round(STRETCH_MM / straight.row_mm)))
    count = max(1, round((rows - high) * straight.row_mm / STEP_MM) + 1)
    tops = np.rint(np.linspace(0, rows - high, count)).astype(int)
    weight, figure = (_windows(part, tops, high) for part in (straight.weight, straight.figure))
    y_mm = np.asarray((tops + high / 2) * straight.row_mm, np.float64)
    mean = np.asarray(figure / np.maximum(weight, np.float32(1)), np.float32)
    return y_mm, mean, np.asarray(weight > 0.6 * high, np.bool_)


def _windows(picture: Float32, tops: NDArray[np.int64], high: int) -> Float32:
    """Sums over `high` rows from each of `tops`."""
    return np.stack([picture[top : top + high].sum(axis=0) for top in tops])


def _finer_darkness(profiles: Float32) -> Array:
    return -np.asarray(cv2.resize(profiles, None, fx=FINER, fy=1, interpolation=cv2.INTER_CUBIC), np.float64)


def _likeness(profiles: Float32, seen: NDArray[np.bool_], column_mm: float) -> Array:
    """Local correlation of each stretch with the next that shares no wood with it, the better of two."""
    wide = max(3, round(12.0 / column_mm))
    kept = profiles * seen

    def mean(picture: Float32) -> Float32:
        return np.asarray(cv2.blur(picture, (wide, 1)), np.float32)

    power = mean(kept * kept)
    best = np.full(profiles.shape, -1.0, np.float32)
    if len(profiles) > APART:
        cross = mean(kept[APART:] * kept[:-APART])
        like = cross / np.sqrt(np.maximum(power[APART:] * power[:-APART], 1e-12))
        best[APART:] = np.maximum(best[APART:], like)
        best[:-APART] = np.maximum(best[:-APART], like)
    return np.asarray(best, np.float64)


def _joined(found: list[Array], sure: list[NDArray[np.bool_]]) -> Array:
    """Dips of all stretches joined into lines (lines, stretches); short ones left out, gaps filled."""
    count = len(found)
    total = sum(len(dips) for dips in found)
    owners: list[NDArray[np.int64]] = []  # per stretch the line that each dip belongs to
    last = np.full(total, -1)  # stretch in which each line was last seen
    begun = 0
    for row, dips in enumerate(found):
        owner = np.full(len(dips), -1, np.int64)
        for back in range(1, min(LONGEST_GAP, row) + 1):
            reach = REACH_MM * (1 + 0.25 * (back - 1))
            _take_over(dips, owner, found[row - back], owners[row - back], last == row - back, reach)
        new = owner < 0
        owner[new] = begun + np.arange(int(new.sum()))
        begun += int(new.sum())
        last[owner] = row
        owners.append(owner)
    places = np.full((begun, count), np.nan)
    times_sure = np.zeros(begun, np.int64)
    for row, (dips, owner) in enumerate(zip(found, owners, strict=True)):
        places[owner, row] = dips
        times_sure[owner] += sure[row]
    few = max(2, count // 2)  # of a short piece of wood
    times = np.isfinite(places).sum(axis=1)
    kept = places[(times_sure >= min(LEAST_STRETCHES, few)) | (times >= min(LEAST_WEAK, few))]
    for line in kept:
        rows = np.flatnonzero(np.isfinite(line))
        run = np.arange(rows[0], rows[-1] + 1)
        line[run] = np.interp(run, rows, line[rows])
    return np.asarray(kept, np.float64)


def _take_over(
    dips: Array,
    owner: NDArray[np.int64],
    before: Array,
    lines_of: NDArray[np.int64],
    open_line: NDArray[np.bool_],
    reach_mm: float,
) -> None:
    """Give dips without a line that of dips `before`, where each is the other's nearest and it is open."""
    if not len(dips) or not len(before) or (owner >= 0).all():
        return
    to, fro = _nearest(before, dips), _nearest(dips, before)
    mine = np.arange(len(dips))
    fits = (owner < 0) & open_line[lines_of[to]] & (fro[to] == mine) & (np.abs(dips - before[to]) < reach_mm)
    owner[fits] = lines_of[to[fits]]


def _nearest(sorted_values: Array, to: Array) -> NDArray[np.int64]:
    last = len(sorted_values) - 1
    right = np.minimum(np.maximum(np.searchsorted(sorted_values, to), 1), last)
    left = np.maximum(right - 1, 0)
    nearer = np.abs(sorted_values[left] - to) <= np.abs(sorted_values[right] - to)
    return np.asarray(np.where(nearer, left, right), np.int64)
