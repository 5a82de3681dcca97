"""Readings of one joint one after another: is it getting better?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.seam.profile import Floats, Profile

WORSE_PASSES = 3  # after so many passes that made it worse: back to the machine (common practice, no source)

Way = Literal["first", "better", "same", "worse"]


@dataclass(frozen=True, eq=False)
class Progress:
    """The fit gaps of a joint, oldest first."""

    widest_mm: Floats  # (n,)
    mean_mm: Floats  # (n,)
    ways: tuple[Way, ...]  # (n,) against the reading before
    worse_in_a_row: int  # at the end
    stop: bool  # go back to the machine
    says: str


def progress(fits: Sequence[Profile]) -> Progress:
    """What a joint's readings say one after another.

    A pass made it better or worse when the mean gap changed by more than both readings' errors allow.

    Args:
        fits: fit gaps, oldest first, at least one.
    """
    widest = np.array([float(fit.gap_mm.max()) for fit in fits])
    mean = np.array([float(np.mean(fit.at(np.linspace(fit.s_mm[0], fit.s_mm[-1], 200)))) for fit in fits])
    ways: list[Way] = ["first"]
    for i in range(1, len(fits)):
        # a mean's error shrinks with independent places; half of one place's is the careful side
        doubt = float(np.hypot(fits[i].error_mm, fits[i - 1].error_mm)) / 2
        change = mean[i] - mean[i - 1]
        ways.append("better" if change < -doubt else "worse" if change > doubt else "same")
    row = 0
    for way in reversed(ways):
        if way != "worse":
            break
        row += 1
    stop = row >= WORSE_PASSES
    if len(fits) == 1:
        says = "the first reading"
    elif stop:
        says = f"{row} passes in a row made it worse: stop, go back to the machine"
    else:
        words = {"better": "better", "same": "no change that the reading can tell", "worse": "worse"}
        last = words.get(ways[-1], "")
        says = f"{last} than the last reading: widest {widest[-2]:.2f} mm then, {widest[-1]:.2f} mm now"
        if ways[-1] == "same":
            says = f"{last}: widest {widest[-2]:.2f} mm then, {widest[-1]:.2f} mm now"
    return Progress(widest, mean, tuple(ways), row, stop, says)
