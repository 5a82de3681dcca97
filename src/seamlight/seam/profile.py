"""A gap along the joint, and what is left of it when one leaf is shifted and turned until it touches.

Seam frame: s along the joint from the neck end, mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake

Floats = NDArray[np.float64]

TOUCHING_MM = 0.01  # a gap below this counts as touching


@dataclass(frozen=True, eq=False)
class Profile:
    """A gap as seen at places along the joint. `error_mm`: two standard errors of one place."""

    s_mm: Floats  # (n,) rising
    gap_mm: Floats  # (n,)
    error_mm: float

    def __post_init__(self) -> None:
        if self.s_mm.shape != self.gap_mm.shape or self.s_mm.size < 2:
            raise Mistake("a joint is read in two places at least", do="read both ends and the middle")
        if not (np.isfinite(self.s_mm).all() and np.isfinite(self.gap_mm).all()):
            raise Mistake("a reading is no number", do="leave out the places that were not read")
        if (np.diff(self.s_mm) <= 0).any():
            raise Mistake("the places along the joint go backwards", do="give them from the neck end on")

    @property
    def length_mm(self) -> float:
        """From the first place read to the last."""
        return float(self.s_mm[-1] - self.s_mm[0])

    def at(self, s_mm: Floats) -> Floats:
        """The gap at other places, straight between those read."""
        return np.interp(s_mm, self.s_mm, self.gap_mm)


def lower_hull(s_mm: Floats, gap_mm: Floats) -> NDArray[np.int64]:
    """Indices of the places where a straightedge laid from below can touch: the lower convex hull."""
    # Andrew 1979, monotone chain
    kept: list[int] = []
    for i in range(s_mm.size):
        while len(kept) >= 2:
            a, b = kept[-2], kept[-1]
            turn = (s_mm[b] - s_mm[a]) * (gap_mm[i] - gap_mm[a]) - (gap_mm[b] - gap_mm[a]) * (
                s_mm[i] - s_mm[a]
            )
            if turn > 0:
                break
            kept.pop()
        kept.append(i)
    return np.array(kept)


def mean_over_length(s_mm: Floats, values: Floats) -> float:
    """The mean along the joint, straight between the places."""
    areas = (values[1:] + values[:-1]) / 2 * np.diff(s_mm)
    return float(areas.sum() / (s_mm[-1] - s_mm[0]))


def touching_line(profile: Profile) -> tuple[float, float]:
    """The line (height at s = 0, slope) under the gap that a shifted and turned leaf brings to zero.

    Among all lines that nowhere lie above the gap: those whose mean gap is least, or within the reading's
    error of the least; among those the one that leaves both ends most equally open.
    """
    s, gap = profile.s_mm, profile.gap_mm
    hull = lower_hull(s, gap)
    middle, mean = (s[0] + s[-1]) / 2, mean_over_length(s, gap)
    slopes = np.diff(gap[hull]) / np.diff(s[hull])
    # The mean gap over a line of slope b that touches is mean + max over the hull of (b (s - middle) - gap):
    # convex in b, least at the hull's side over the middle.
    best = slopes[np.clip(np.searchsorted(s[hull], middle) - 1, 0, slopes.size - 1)]
    least = float(np.max(best * (s[hull] - middle) - gap[hull])) + mean
    room = least + profile.error_mm - mean + gap[hull]
    arm = s[hull] - middle
    low = float(np.max(room[arm < 0] / arm[arm < 0]))
    high = float(np.min(room[arm > 0] / arm[arm > 0]))
    even = float((gap[-1] - gap[0]) / (s[-1] - s[0]))
    slope = float(np.clip(even, min(low, best), max(high, best)))
    return float(np.min(gap[hull] - slope * s[hull])), slope


def fit_gap(profile: Profile) -> Profile:
    """The gap with the shims taken out and one leaf shifted and turned until it touches (`touching_line`).

    Nowhere below 0, and 0 where the leaves touch. A straight wedge is no fault: it goes.
    """
    height, slope = touching_line(profile)
    left = profile.gap_mm - height - slope * profile.s_mm
    return Profile(profile.s_mm, np.maximum(left, 0.0), profile.error_mm)


def mirrored(profile: Profile) -> Profile:
    """The same joint read from its tail end."""
    s = profile.s_mm
    return Profile((s[0] + s[-1]) - s[::-1], profile.gap_mm[::-1].copy(), profile.error_mm)
