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
from scipy.ndimage import rank_filter
from scipy.signal import find_peaks, peak_widths

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


@dataclass(frozen=True)
class Bar:
    """What a dip must stand out by to count as a line."""

    share: float  # of what neighbouring lines stand out by
    noise_times: float  # of the profile's noise


SURE = Bar(share=0.38, noise_times=1.5)


def dark_lines(darkness: Array, step_mm: float, noise: float = 0.0, sure: Bar = SURE) -> NDArray[np.int64]:
    """Indices of the ring lines on a darkness profile sampled every step_mm.

    Args:
        darkness: (n,), larger is darker.
        noise: deviation of the profile's noise.
        sure: what a dip must stand out by; where a gap between lines asks for one more, less will do.
    """
    return rated_lines(darkness, step_mm, noise, sure, sure)[0]


def rated_lines(
    darkness: Array, step_mm: float, noise: float, sure: Bar, weak: Bar
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Indices of the ring lines, rising, with weak ones among them, and which of them are sure."""
    nothing = np.zeros(0, np.int64), np.zeros(0, np.bool_)
    low, high = _at_shares(darkness, 0.05, 0.95) if len(darkness) else (0.0, 0.0)
    spread = high - low
    if spread <= 0:
        return nothing
    dips, found = find_peaks(darkness, prominence=LEAST_OF_SPREAD * spread)
    prominence = found["prominences"]
    if not len(dips):
        return nothing
    # what is far fainter than the clearest, or than noise, has no say in what is usual
    clear = prominence > max(NOISE_TIMES * noise, HARDLY * _at_shares(prominence, 0.95)[0])
    peaks, stands_out = dips[clear].astype(np.int64), prominence[clear]
    if len(peaks) < 3:
        return peaks, np.ones(len(peaks), np.bool_)
    usual = _running(_running(stands_out, 75), 50)
    crack = stands_out > MOST_SHARE * usual
    if crack.any():
        crack[crack] = peak_widths(darkness, peaks[crack], rel_height=0.5)[0] * step_mm < CRACK_MM

    def over(bar: Bar) -> NDArray[np.int64]:
        enough = stands_out > np.maximum(bar.share * usual, bar.noise_times * noise)
        return np.asarray(peaks[enough & ~crack], np.int64)

    faint = prominence > FAINT_SHARE * _at_shares(usual, 0.5)[0]
    faint[clear] &= ~crack
    is_sure = np.zeros(len(darkness), np.bool_)
    is_sure[_gaps_filled(over(sure), dips[faint], prominence[faint])] = True
    is_line = is_sure.copy()
    if weak != sure:
        is_line[over(weak)] = True
    every = np.flatnonzero(is_line)
    return every, is_sure[every]


def _at_shares(values: Array, *shares: float) -> list[float]:
    """The values that these shares of them lie below."""
    ranks = [int(share * (len(values) - 1)) for share in shares]
    return [float(value) for value in np.partition(values, ranks)[ranks]]


def _running(values: Array, percent: float, around: int = AROUND) -> Array:
    """Running percentile over `around` neighbours; mirrored at the ends."""
    size = min(around, len(values)) // 2 * 2 + 1
    return np.asarray(rank_filter(values, int(percent / 100 * size), size, mode="reflect"), np.float64)


def _gaps_filled(sure: NDArray[np.int64], faint: NDArray[np.int64], stands_out: Array) -> NDArray[np.int64]:
    """Faint dips put in, clearest first, where they part a wide gap into two that suit the rings about."""
    if len(sure) < 4:
        return np.asarray(sure, np.int64)
    gaps = np.diff(sure).astype(np.float64)
    usual = _running(gaps, 50, 2 * AROUND + 1)
    at = np.searchsorted(sure, faint, side="right")
    inside = (at > 0) & (at < len(sure))
    gap = np.minimum(np.maximum(at - 1, 0), len(gaps) - 1)
    room = usual[gap]
    # a look at all at once: most lie in no wide gap
    wide = inside & (gaps[gap] > WIDE_GAP * room)
    if not wide.any():
        return np.asarray(sure, np.int64)
    faint, stands_out, room = faint[wide], stands_out[wide], room[wide]
    lines: list[int] = sure.tolist()
    for k in np.argsort(-stands_out):
        dip = int(faint[k])
        next_one = bisect(lines, dip)
        left, right = dip - lines[next_one - 1], lines[next_one] - dip
        if left + right > WIDE_GAP * room[k] and min(left, right) > PART_OF_GAP * room[k]:
            lines.insert(next_one, dip)
    return np.asarray(lines, np.int64)


def finer(darkness: Array, at: NDArray[np.int64]) -> Array:
    """Places of dips to a fraction of a sample, from the parabola through three."""
    inside = np.minimum(np.maximum(at, 1), len(darkness) - 2)
    left, middle, right = darkness[inside - 1], darkness[inside], darkness[inside + 1]
    bend = left - 2 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, 1.0), 0.0)
    return np.asarray(inside + np.minimum(np.maximum(shift, -0.5), 0.5), np.float64)
