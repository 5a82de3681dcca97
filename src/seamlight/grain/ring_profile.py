"""Dark lines on a profile across the grain: which of its dips are rings.

A softwood ring ends in a dark line of latewood. A dip counts as a ring when it stands out from its own
surroundings about as much as its neighbours do; noise and fibre are shallower, a crack is far darker.
The shares are common practice, no source.
"""

from __future__ import annotations

from bisect import bisect

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter, percentile_filter
from scipy.signal import find_peaks, peak_widths

Array = NDArray[np.float64]

LEAST_SHARE = 0.38  # of what neighbouring lines stand out by
HARDLY = 0.15  # of what the clearest lines stand out by
FAINT_SHARE = 0.08  # the same where a gap between lines asks for one more
MOST_SHARE = 2.6  # darker than that and thin: a crack or a pencil line
CRACK_MM = 0.45  # a crack's dip is no wider than this
WIDE_GAP = 1.5  # times the usual distance of lines
PART_OF_GAP = 0.5  # the least that may be parted off
AROUND = 9  # dips that count as neighbours


def dark_lines(
    darkness: Array, step_mm: float, noise: float = 0.0, sharper: Array | None = None
) -> NDArray[np.int64]:
    """Indices of the ring lines on a darkness profile sampled every step_mm.

    Args:
        darkness: (n,), larger is darker.
        noise: deviation of the profile's noise; a dip that stands out by less than 1.5 of it is none.
        sharper: the same profile with blur taken out, at the cost of noise: where a gap between lines asks
            for one more, it is looked for there.
    """
    spread = float(np.subtract(*np.percentile(darkness, [95, 5]))) if len(darkness) else 0.0
    if spread <= 0:
        return np.zeros(0, np.int64)
    least = max(1.5 * noise, 0.04 * spread)
    peaks, found = find_peaks(darkness, prominence=least)
    if len(peaks):
        # what is far fainter than the clearest has no say in what is usual
        clear = found["prominences"] > HARDLY * np.percentile(found["prominences"], 95)
        peaks, found = peaks[clear], {"prominences": found["prominences"][clear]}
    if len(peaks) < 3:
        return np.asarray(peaks, np.int64)
    stands_out = found["prominences"]
    strong = percentile_filter(stands_out, 75, size=min(AROUND, len(peaks)), mode="nearest")
    usual = median_filter(strong, size=min(AROUND, len(peaks)), mode="nearest")
    wide_mm = peak_widths(darkness, peaks, rel_height=0.5)[0] * step_mm
    crack = (stands_out > MOST_SHARE * usual) & (wide_mm < CRACK_MM)
    sure = peaks[(stands_out > LEAST_SHARE * usual) & ~crack]
    if sharper is None:
        sharper = darkness
    faint, found = find_peaks(sharper, prominence=FAINT_SHARE * float(np.median(usual)))
    # a crack is no ring in the sharper profile either
    apart = (np.abs(faint[:, None] - peaks[crack][None, :]) * step_mm > CRACK_MM).all(axis=1)
    return _gaps_filled(np.asarray(sure, np.int64), faint[apart], found["prominences"][apart])


def _gaps_filled(sure: NDArray[np.int64], faint: NDArray[np.int64], stands_out: Array) -> NDArray[np.int64]:
    """Faint dips put in, clearest first, where they part a wide gap into two that suit the rings about."""
    if len(sure) < 4:
        return np.asarray(sure, np.int64)
    gaps = np.diff(sure).astype(np.float64)
    usual = median_filter(gaps, size=min(2 * AROUND + 1, len(gaps)), mode="nearest")
    lines: list[int] = sure.tolist()
    for k in np.argsort(-stands_out):
        dip = int(faint[k])
        at = bisect(lines, dip)
        if 0 < at < len(lines):
            room = usual[min(int(np.searchsorted(sure, dip)) - 1, len(usual) - 1)]
            left, right = dip - lines[at - 1], lines[at] - dip
            if left + right > WIDE_GAP * room and min(left, right) > PART_OF_GAP * room:
                lines.insert(at, dip)
    return np.asarray(lines, np.int64)


def finer(darkness: Array, at: NDArray[np.int64]) -> Array:
    """Places of dips to a fraction of a sample, from the parabola through three."""
    inside = np.clip(at, 1, len(darkness) - 2)
    left, middle, right = darkness[inside - 1], darkness[inside], darkness[inside + 1]
    bend = left - 2 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, 1.0), 0.0)
    return np.asarray(inside + np.clip(shift, -0.5, 0.5), np.float64)
