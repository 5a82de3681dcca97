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
from scipy import fft

from seamlight.grain.field_bands import Float32
from seamlight.grain.field_sharpen import wiener_gain
from seamlight.grain.field_straight import Straight
from seamlight.grain.ring_profile import dark_lines, finer

Array = NDArray[np.float64]

STRETCH_MM = 36.0
STEP_MM = 9.0
SHARPEN_PER_MM = 0.8  # frequency from which what is clear is sharpened, against blur
MOST_SHARPENING = 3.0
FINER = 4  # profiles are drawn this many times finer
REACH_MM = 0.35  # a line moves less than this from stretch to stretch
LONGEST_GAP = 4  # stretches over which a line may be lost from sight
LEAST_STRETCHES = 6  # a line runs on over at least about 80 mm
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
    profiles, sharper, noise = _weighed(profiles, seen, straight.column_mm)
    likeness = _likeness(profiles, seen, straight.column_mm)
    fine, fine_sharper = (_finer_darkness(picture) for picture in (profiles, sharper))
    step_mm = straight.column_mm / FINER
    found = []
    for row, darkness in enumerate(fine):
        at = dark_lines(darkness, step_mm, noise, fine_sharper[row])
        at = at[seen[row, np.clip(at // FINER, 0, seen.shape[1] - 1)]]
        found.append(straight.start_mm + (finer(darkness, at) + 0.5) * step_mm)
    return Tracks(y_mm, _joined(found), columns_mm, likeness)


def _profiles(straight: Straight) -> tuple[Array, NDArray[np.float32], NDArray[np.bool_]]:
    rows = straight.figure.shape[0]
    high = min(rows, max(1, round(STRETCH_MM / straight.row_mm)))
    count = max(1, round((rows - high) * straight.row_mm / STEP_MM) + 1)
    tops = np.rint(np.linspace(0, rows - high, count)).astype(int)

    def sums(picture: NDArray[np.float32]) -> NDArray[np.float32]:
        total = np.vstack([np.zeros((1, picture.shape[1])), np.cumsum(picture, axis=0, dtype=np.float64)])
        return np.asarray(total[tops + high] - total[tops], np.float32)

    weight = sums(straight.weight)
    profiles = sums(straight.figure * straight.weight) / np.maximum(weight, np.float32(1))
    y_mm = np.asarray((tops + high / 2) * straight.row_mm, np.float64)
    return y_mm, np.asarray(profiles, np.float32), weight > 0.6 * high


def _weighed(profiles: Float32, seen: NDArray[np.bool_], column_mm: float) -> tuple[Float32, Float32, float]:
    """Profiles with Wiener's weights from stretches that share no wood; sharpened; noise's deviation."""
    columns = profiles.shape[1]
    length = fft.next_fast_len(columns + 32, real=True)
    spectrum = fft.rfft(profiles, length, axis=1)
    apart = int(np.ceil(STRETCH_MM / STEP_MM))
    if len(spectrum) <= apart:
        return profiles, profiles, 0.0
    gain, noise = wiener_gain(spectrum, apart)
    per_mm = np.arange(len(gain), dtype=np.float32) / (length * column_mm)
    lift = 1 + gain * np.minimum((per_mm / SHARPEN_PER_MM) ** 2, MOST_SHARPENING)
    plain, sharper = (fft.irfft(spectrum * w, length, axis=1)[:, :columns] for w in (gain, gain * lift))
    # Parseval: deviation of the noise that the weights let through, over the wood's share of the picture
    doubled = np.full(len(noise), 2.0)
    doubled[0] = 1.0
    share = max(float(seen.mean()), 0.05)
    left = float(np.sqrt((noise * gain**2 * doubled).sum() / length**2 / share))
    return np.asarray(plain, np.float32), np.asarray(sharper, np.float32), left


def _finer_darkness(profiles: Float32) -> Array:
    return -np.asarray(cv2.resize(profiles, None, fx=FINER, fy=1, interpolation=cv2.INTER_CUBIC), np.float64)


def _likeness(profiles: NDArray[np.float32], seen: NDArray[np.bool_], column_mm: float) -> Array:
    """Local correlation of each stretch with the next that shares no wood with it, the better of two."""
    apart = int(np.ceil(STRETCH_MM / STEP_MM))
    wide = max(3, round(12.0 / column_mm))
    kept = profiles * seen

    def mean(picture: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.asarray(cv2.blur(picture, (wide, 1)), np.float32)

    power = mean(kept * kept)
    best = np.full(profiles.shape, -1.0, np.float32)
    if len(profiles) > apart:
        cross = mean(kept[apart:] * kept[:-apart])
        like = cross / np.sqrt(np.maximum(power[apart:] * power[:-apart], 1e-12))
        best[apart:] = np.maximum(best[apart:], like)
        best[:-apart] = np.maximum(best[:-apart], like)
    return np.asarray(best, np.float64)


def _joined(found: list[Array]) -> Array:
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
    for row, (dips, owner) in enumerate(zip(found, owners, strict=True)):
        places[owner, row] = dips
    least = min(LEAST_STRETCHES, max(2, count // 2))
    kept = places[np.isfinite(places).sum(axis=1) >= least]
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
    right = np.clip(np.searchsorted(sorted_values, to), 1, max(1, len(sorted_values) - 1))
    right = np.minimum(right, len(sorted_values) - 1)
    left = np.maximum(right - 1, 0)
    nearer = np.abs(sorted_values[left] - to) <= np.abs(sorted_values[right] - to)
    return np.asarray(np.where(nearer, left, right), np.int64)
