"""How much a drawing may hold; an outline drawn as densely as a plotter can follow has a tenth of it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from seamlight.mistake import Mistake
from seamlight.photo.flat import Points

MOST_ELEMENTS = 20_000
MOST_POINTS = 50_000  # as the file gives them
MOST_FOLLOWED = 150_000  # once its curves are followed


def too_much(where: str, what: str) -> Mistake:
    """What is told of a drawing that holds more."""
    return Mistake(f"holds {what}", where=where, do="save the outline alone, as one simple line")


def bounded(lines: Iterable[Points], where: str) -> tuple[Points, ...]:
    """The finite lines, each (n, 2), unless they have too many points; the rest is then never made.

    Raises:
        Mistake: they have.
    """
    kept, count = [], 0
    for line in lines:
        count += len(line)
        if count > MOST_FOLLOWED:
            raise too_much(where, f"more than {MOST_FOLLOWED:,} points along its lines")
        if np.isfinite(line).all():
            kept.append(line)
    return tuple(kept)
