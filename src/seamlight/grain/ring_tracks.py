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

from seamlight.grain.field_sharpen import wiener_gain
from seamlight.grain.field_straight import Straight
from seamlight.grain.ring_profile import dark_lines, finer

Array = NDArray[np.float64]

STRETCH_MM = 36.0
STEP_MM = 9.0
FINER = 4  # profiles are drawn this many times finer
REACH_MM = 0.35  # a line moves less than this from stretch to stretch
LONGEST_GAP = 4  # stretches over which a line may be lost from sight
LEAST_STRETCHES = 6  # a line runs on over at least about 80 mm
LEAST_LIKENESS = 0.55  # of profiles two stretches apart, for rings to be told


@dataclass(frozen=True, eq=False)
class Tracks:
    """Lines by stretches: X in the upright picture, NaN where a line does not reach; and how like they are."""

    y_mm: Array  # (m,) middles of the stretches
    upright_mm: Array  # (lines, m)
    columns_mm: Array  # (n,) X of the upright picture's columns
    likeness: Array  # (m, n) correlation of each stretch's profile with those beyond its neighbours


def follow_lines(straight: Straight) -> Tracks:
    """Find the ring lines of the upright picture."""
    y_mm, profiles, seen = _profiles(straight)
    columns_mm = straight.columns_mm()
    profiles, noise = _sharpened(profiles, seen)
    likeness = _likeness(profiles, seen, straight.column_mm)
    fine = -cv2.resize(profiles, None, fx=FINER, fy=1, interpolation=cv2.INTER_CUBIC).astype(np.float64)
    step_mm = straight.column_mm / FINER
    found = []
    for row, darkness in enumerate(fine):
        at = dark_lines(darkness, step_mm, noise)
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
    profiles = sums(straight.figure * straight.weight) / np.maximum(weight, 1)
    return (tops + high / 2) * straight.row_mm, profiles, weight > 0.6 * high


def _sharpened(profiles: NDArray[np.float32], seen: NDArray[np.bool_]) -> tuple[NDArray[np.float32], float]:
    """Profiles with Wiener's weights from stretches that share no wood; and the deviation of what is left of noise."""
    columns = profiles.shape[1]
    length = fft.next_fast_len(columns + 32, real=True)
    spectrum = fft.rfft(profiles, length, axis=1)
    apart = int(np.ceil(STRETCH_MM / STEP_MM))
    if len(spectrum) <= apart:
        return profiles, 0.0
    gain, noise = wiener_gain(spectrum, apart)
    kept = fft.irfft(spectrum * gain, length, axis=1)[:, :columns]
    # Parseval: deviation of the noise that the weights let through, over the wood's share of the picture
    doubled = np.full(len(noise), 2.0)
    doubled[0] = 1.0
    share = max(float(seen.mean()), 0.05)
    left = float(np.sqrt((noise * gain**2 * doubled).sum() / length**2 / share))
    return np.asarray(kept, np.float32), left


def _likeness(profiles: NDArray[np.float32], seen: NDArray[np.bool_], column_mm: float) -> Array:
    """Local correlation of each stretch with the next ones that share no wood with it, the better of the two."""
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
    """Dips of all stretches joined into lines (lines, stretches); short ones left out, gaps of one filled."""
    count = len(found)
    lines: list[dict[int, float]] = []
    ends: list[tuple[Array, list[int]]] = []  # per stretch: dips and the line each belongs to
    for row, dips in enumerate(found):
        owner = [-1] * len(dips)
        for back in range(1, LONGEST_GAP + 1):
            if row - back >= 0:
                _take_over(dips, owner, *ends[row - back], lines, row, back)
        for i, x in enumerate(dips):
            if owner[i] < 0:
                owner[i] = len(lines)
                lines.append({})
            lines[owner[i]][row] = float(x)
        ends.append((dips, owner))
    least = min(LEAST_STRETCHES, max(2, count // 2))
    kept = [line for line in lines if len(line) >= least]
    out = np.full((len(kept), count), np.nan)
    for i, line in enumerate(kept):
        rows = np.array(sorted(line))
        run = np.arange(rows[0], rows[-1] + 1)
        out[i, run] = np.interp(run, rows, [line[r] for r in rows])
    return out


def _take_over(
    dips: Array,
    owner: list[int],
    before: Array,
    lines_of: list[int],
    lines: list[dict[int, float]],
    row: int,
    back: int,
) -> None:
    """Give free dips the lines of the dips `back` stretches before them, where each is the other's nearest."""
    if not len(dips) or not len(before):
        return
    to = _nearest(before, dips)
    fro = _nearest(dips, before)
    for i, j in enumerate(to):
        line = lines_of[j]
        free = owner[i] < 0 and max(lines[line], default=-1) == row - back
        if free and fro[j] == i and abs(dips[i] - before[j]) < REACH_MM * (1 + 0.25 * (back - 1)):
            owner[i] = line


def _nearest(sorted_values: Array, to: Array) -> NDArray[np.int64]:
    right = np.clip(np.searchsorted(sorted_values, to), 1, max(1, len(sorted_values) - 1))
    right = np.minimum(right, len(sorted_values) - 1)
    left = np.maximum(right - 1, 0)
    nearer = np.abs(sorted_values[left] - to) <= np.abs(sorted_values[right] - to)
    return np.asarray(np.where(nearer, left, right), np.int64)
