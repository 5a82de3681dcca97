"""Readings of one joint one after another: is it getting better?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.seam.places import thin_words
from seamlight.seam.profile import Floats, Profile
from seamlight.units import Unit

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

    def says(self, unit: Unit) -> str:
        """How it goes, in one line."""
        if len(self.ways) == 1:
            return "the first reading"
        if self.stop:
            return f"{self.worse_in_a_row} passes in a row made it worse: stop, go back to the machine"
        then, now = (thin_words(float(mm), unit) for mm in self.widest_mm[-2:])
        words = {"better": "better than the last reading", "worse": "worse than the last reading"}
        said = words.get(self.ways[-1], "no change that the reading can tell")
        return f"{said}: widest {then} then, {now} now"


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
    return Progress(widest, mean, tuple(ways), row, row >= WORSE_PASSES)
