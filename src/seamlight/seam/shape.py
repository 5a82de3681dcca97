"""The shape of a joint in the trade's words, and where it touches."""

from __future__ import annotations

from typing import Literal

import numpy as np

from seamlight.seam.profile import TOUCHING_MM, Floats, Profile

Shape = Literal["closed", "hollow", "hump", "open at neck end", "open at tail end", "patches", "wind"]
Run = tuple[float, float]

LEVEL = 0.4  # of the widest gap: what lies above it makes the shape
SMALLEST_RUN = 0.03  # of the length: shorter openings are joined to their neighbours, or left out
AT_END = 0.03  # of the length: a run that comes this near reaches the end
ALIKE = 0.6  # of the wider end: ends less alike than this are one open end, not a hump
HOLLOW_FROM = 0.4  # of the length: one opening this long is a hollow, a shorter one a patch


def runs_above(s_mm: Floats, values: Floats, level: float) -> tuple[Run, ...]:
    """Stretches where values lie above a level, straight between the places."""
    above = values > level
    found: list[Run] = []
    start: float | None = float(s_mm[0]) if above[0] else None
    for i in range(1, s_mm.size):
        if above[i] == above[i - 1]:
            continue
        share = (level - values[i - 1]) / (values[i] - values[i - 1])
        crossing = float(s_mm[i - 1] + share * (s_mm[i] - s_mm[i - 1]))
        if above[i]:
            start = crossing
        else:
            found.append((s_mm[0] if start is None else start, crossing))
            start = None
    if start is not None:
        found.append((start, float(s_mm[-1])))
    return tuple(found)


def _main_runs(s_mm: Floats, values: Floats, level: float) -> list[Run]:
    """Runs above a level with small breaks closed and small runs left out; at least the longest stays."""
    small = SMALLEST_RUN * float(s_mm[-1] - s_mm[0])
    joined: list[Run] = []
    for run in runs_above(s_mm, values, level):
        if joined and run[0] - joined[-1][1] < small:
            joined[-1] = (joined[-1][0], run[1])
        else:
            joined.append(run)
    if not joined:
        return []
    longest = max(joined, key=lambda run: run[1] - run[0])
    return [run for run in joined if run is longest or run[1] - run[0] >= small]


def shape_of(s_mm: Floats, values: Floats, closed_below: float) -> Shape:
    """The shape of a fit gap, or of the light along a joint.

    Args:
        s_mm: (n,) from the neck end, rising.
        values: (n,) gap or light.
        closed_below: a joint whose greatest value is no more than this is closed.
    """
    widest = float(np.max(values))
    if widest <= closed_below:
        return "closed"
    runs = _main_runs(s_mm, values, LEVEL * widest)
    length = float(s_mm[-1] - s_mm[0])
    near = AT_END * length
    neck = runs[0][0] <= s_mm[0] + near
    tail = runs[-1][1] >= s_mm[-1] - near
    if len(runs) == 1:
        if neck and not tail:
            return "open at neck end"
        if tail and not neck:
            return "open at tail end"
        return "hollow" if runs[0][1] - runs[0][0] >= HOLLOW_FROM * length else "patches"
    if len(runs) == 2 and neck and tail:
        at_neck, at_tail = (float(values[(s_mm >= a) & (s_mm <= b)].max(initial=0.0)) for a, b in runs)
        if min(at_neck, at_tail) >= ALIKE * max(at_neck, at_tail):
            return "hump"
        return "open at neck end" if at_neck > at_tail else "open at tail end"
    return "patches"


def closed_below_mm(error_mm: float) -> float:
    """The widest gap that still counts as closed: what touches, or what the reading cannot tell from it.

    A fit gap is the difference of two places read, so half as much again as the error of one.
    """
    return max(TOUCHING_MM, 1.5 * error_mm)


def shape_of_gap(fit: Profile) -> Shape:
    """The shape of a fit gap."""
    return shape_of(fit.s_mm, fit.gap_mm, closed_below_mm(fit.error_mm))


def touching(fit: Profile) -> tuple[Run, ...]:
    """Where the fit gap is under 0.01 mm, from neck to tail."""
    return tuple((a, b) for a, b in runs_above(fit.s_mm, -fit.gap_mm, -TOUCHING_MM))
