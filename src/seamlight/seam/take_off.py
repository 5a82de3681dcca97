"""The wood to take off each edge so that the joint closes, with the least taken.

Both edges are planed together, folded: what comes off one comes off the other. Half the distance from the
fit gap to the straight line above it of least area; afterwards the gap is that line, and a straight wedge
closes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.seam.profile import Floats, Profile, touching_line

FINEST_MM = 0.0025  # depth within which a stretch counts as even
FINEST_SHARE = 0.03  # or this share of the greatest depth, where that is more
GRID_MM = 2.5


@dataclass(frozen=True)
class Stretch:
    """Wood of an even depth to take off each edge between two places."""

    from_mm: float
    to_mm: float
    depth_mm: float


def line_above(fit: Profile) -> tuple[float, float]:
    """The line (height at s = 0, slope) of least area that nowhere lies below the gap.

    Where several have the least area, the one that takes the same at both ends.
    """
    height, slope = touching_line(Profile(fit.s_mm, -fit.gap_mm, 0.0))
    return -height, -slope


def depth_mm(fit: Profile) -> Floats:
    """(n,) what to take off each edge at the places of a fit gap, mm; 0 somewhere."""
    height, slope = line_above(fit)
    return np.maximum(height + slope * fit.s_mm - fit.gap_mm, 0.0) / 2


def stretches(s_mm: Floats, depths_mm: Floats, error_mm: float) -> tuple[Stretch, ...]:
    """As few stretches of even depth as stay within `FINEST_MM` (or `FINEST_SHARE`) of a depth.

    Nor finer than the depth is known: half the reading's error. Places where nothing comes off are left out.
    """
    off = max(FINEST_MM, FINEST_SHARE * float(depths_mm.max()), error_mm / 2)
    s = np.unique(np.concatenate([s_mm, np.arange(s_mm[0], s_mm[-1], GRID_MM)]))
    depth = np.interp(s, s_mm, depths_mm)
    borders = np.concatenate([[s[0]], (s[1:] + s[:-1]) / 2, [s[-1]]])
    found: list[Stretch] = []
    start, low, high = 0, depth[0], depth[0]
    for i in range(1, s.size + 1):
        if i < s.size and max(high, depth[i]) - min(low, depth[i]) <= 2 * off:
            low, high = min(low, depth[i]), max(high, depth[i])
            continue
        middle = (low + high) / 2
        if high > off:
            found.append(Stretch(float(borders[start]), float(borders[i]), float(middle)))
        if i < s.size:
            start, low, high = i, depth[i], depth[i]
    return tuple(found)


def take_off(fit: Profile) -> tuple[Stretch, ...]:
    """What to take off each edge, as stretches."""
    return stretches(fit.s_mm, depth_mm(fit), fit.error_mm)
