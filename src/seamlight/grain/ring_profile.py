"""Dark lines on a profile across the grain: which of its dips are rings.

A softwood ring ends in a dark line of latewood. A dip counts as a ring when it stands out from its own
surroundings about as much as its neighbours do; noise and fibre are shallower, a crack is far darker.
The shares are common practice, no source.
"""

from __future__ import annotations

from bisect import bisect
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks, peak_prominences, peak_widths

from seamlight.grain.ragged import Rows, Whole, Windows, at_share

Array = NDArray[np.float64]

NOISE_TIMES = 1.5
LEAST_OF_SPREAD = 0.03
HARDLY = 0.15  # of what the clearest lines stand out by
FAINT_SHARE = 0.08  # the same where a gap between lines asks for one more
MOST_SHARE = 2.6  # darker than that and thin: a crack or a pencil line
CRACK_MM = 0.45  # a crack's dip is no wider than this
WIDE_GAP = 1.5  # times the usual distance of lines
PART_OF_GAP = 0.5  # the least that may be parted off
AROUND = 9  # dips that count as neighbours
ENOUGH = 400  # samples tell how far a profile spreads


@dataclass(frozen=True)
class Bar:
    """What a dip must stand out by to count as a line."""

    share: float  # of what neighbouring lines stand out by
    noise_times: float  # of the profile's noise


SURE = Bar(share=0.38, noise_times=1.5)


@dataclass(frozen=True, eq=False)
class Lines:
    """Ring lines of several profiles, profile by profile and rising in each."""

    row: Whole  # (lines,) which profile
    at: Whole  # (lines,) index of the sample
    sure: NDArray[np.bool_]


def dark_lines(darkness: Array, step_mm: float, noise: float = 0.0, sure: Bar = SURE) -> Whole:
    """Indices of the ring lines on a darkness profile sampled every step_mm.

    Args:
        darkness: (n,), larger is darker.
        noise: deviation of the profile's noise.
        sure: what a dip must stand out by; where a gap between lines asks for one more, less will do.
    """
    return rated_lines(darkness[None], step_mm, noise, sure, sure).at


def rated_lines(darkness: Array, step_mm: float, noise: float, sure: Bar, weak: Bar) -> Lines:
    """Ring lines of profiles (rows, n), weak ones among them, and which of them are sure."""
    count, samples = darkness.shape
    if samples < 3:
        return Lines(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.bool_))
    # all profiles end to end, each shut off from the next by what no dip is higher than
    fence = np.full((count, samples + 1), np.inf)
    fence[:, :samples] = darkness
    flat = fence.ravel()
    dips, prominence, rows = _dips(flat, darkness)
    # what is far fainter than the clearest, or than noise, has no say in what is usual
    clear = (
        prominence > np.maximum(NOISE_TIMES * noise, HARDLY * at_share(prominence, rows, 0.95))[rows.row_of]
    )
    peaks, stands_out, of_peaks = dips[clear], prominence[clear], rows.of(clear)
    about = _windows(of_peaks, AROUND)
    usual = about.running(about.running(stands_out, 75), 50)
    few = (of_peaks.lengths < 3)[of_peaks.row_of]
    crack = (stands_out > MOST_SHARE * usual) & ~few
    if crack.any():
        crack[crack] = peak_widths(flat, peaks[crack], rel_height=0.5)[0] * step_mm < CRACK_MM

    def over(bar: Bar) -> NDArray[np.bool_]:
        enough = stands_out > np.maximum(bar.share * usual, bar.noise_times * noise)
        return np.asarray(enough & ~crack | few)

    faint = prominence > FAINT_SHARE * at_share(usual, of_peaks, 0.5)[rows.row_of]
    faint[clear] &= ~crack
    is_line, is_sure = np.zeros(len(flat), np.bool_), np.zeros(len(flat), np.bool_)
    begun = over(sure)
    is_sure[_gaps_filled(peaks[begun], of_peaks.of(begun), dips[faint], prominence[faint])] = True
    is_line[peaks[over(weak)]] = True
    at = np.flatnonzero(is_line | is_sure)
    return Lines(at // (samples + 1), at % (samples + 1), is_sure[at])


def _dips(flat: Array, darkness: Array) -> tuple[Whole, Array, Rows]:
    """Dips of profiles laid end to end, what each stands out by, and whose they are."""
    count, samples = darkness.shape
    few = np.sort(darkness[:, :: max(1, samples // ENOUGH)].astype(np.float32), axis=1)
    low, high = few[:, [int(share * (few.shape[1] - 1)) for share in (0.05, 0.95)]].T
    dips = find_peaks(flat)[0].astype(np.int64)
    dips = dips[np.isfinite(flat[dips])]
    prominence = peak_prominences(flat, dips)[0]
    spread = (high - low)[dips // (samples + 1)]
    kept = (spread > 0) & (prominence >= LEAST_OF_SPREAD * spread)
    return dips[kept], prominence[kept], Rows(dips[kept] // (samples + 1), count)


def _windows(rows: Rows, around: int) -> Windows:
    """Of the odd number of values nearest to `around` that a row has."""
    return Windows(rows, np.asarray(np.minimum(around, rows.lengths) // 2 * 2 + 1, np.int64))


def _gaps_filled(sure: Whole, rows: Rows, faint: Whole, stands_out: Array) -> Whole:
    """Faint dips put in, clearest first, where they part a wide gap into two that suit the rings about."""
    of_gaps, gaps = rows.gaps(), rows.differences(sure.astype(np.float64))
    if not len(gaps):
        return sure
    usual = _windows(of_gaps, 2 * AROUND + 1).running(gaps, 50)
    left = np.searchsorted(sure, faint, side="right") - 1
    goes_on = np.append(rows.row_of[1:] == rows.row_of[:-1], False)
    inside = (left >= 0) & goes_on[left] & (rows.lengths[rows.row_of[left]] >= 4)
    gap = np.maximum(np.cumsum(goes_on)[left] - 1, 0)
    # a look at all at once: most lie in no wide gap or too near to its side
    nearest = np.minimum(faint - sure[left], sure[np.minimum(left + 1, len(sure) - 1)] - faint)
    wide = inside & (gaps[gap] > WIDE_GAP * usual[gap]) & (nearest > PART_OF_GAP * usual[gap])
    if not wide.any():
        return sure
    faint, stands_out, room = faint[wide], stands_out[wide], usual[gap[wide]]
    lines: list[int] = sure.tolist()
    for k in np.argsort(-stands_out):
        dip = int(faint[k])
        next_one = bisect(lines, dip)
        before, after = dip - lines[next_one - 1], lines[next_one] - dip
        if before + after > WIDE_GAP * room[k] and min(before, after) > PART_OF_GAP * room[k]:
            lines.insert(next_one, dip)
    return np.asarray(lines, np.int64)


def finer(darkness: Array, row: Whole, at: Whole) -> Array:
    """Places of dips of profiles (rows, n) to a fraction of a sample, from the parabola through three."""
    inside = np.minimum(np.maximum(at, 1), darkness.shape[1] - 2)
    left, middle, right = darkness[row, inside - 1], darkness[row, inside], darkness[row, inside + 1]
    bend = left - 2 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, 1.0), 0.0)
    return np.asarray(inside + np.minimum(np.maximum(shift, -0.5), 0.5), np.float64)
