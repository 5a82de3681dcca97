"""Outlines from measures."""

from __future__ import annotations

from functools import lru_cache
from math import ceil

import numpy as np

from seamlight.outline.curve import Array
from seamlight.outline.measures import GENERIC, Measures, generic_measures
from seamlight.outline.shape import Outline
from seamlight.outline.side import side_line
from seamlight.outline.zones import zones_of

_STEP_MM = 1.0


def _places(measured_mm: tuple[float, ...]) -> Array:
    """Places along the curve at most a step apart that hold every measured place."""
    parts = [np.zeros(1)]
    for a, b in zip((0.0, *measured_mm), measured_mm, strict=False):
        parts.append(np.linspace(a, b, ceil((b - a) / _STEP_MM) + 1)[1:])
    return np.concatenate(parts)


@lru_cache(maxsize=64)
def draw(measures: Measures) -> Outline:
    """The fairest outline with these measures; its points are at most 1 mm apart, the neck flat one straight.

    Raises:
        Mistake: no fair curve has these measures.
    """
    found, at_mm = side_line(measures)
    side = found.line.points(_places((*at_mm, found.line.length_mm)))
    side[0] = (measures.neck_flat_mm / 2, 0.0)
    side[-1] = (0.0, measures.length_mm)
    half = np.concatenate((np.zeros((1, 2)), side))
    half.setflags(write=False)  # the same outline is handed to everyone who asks for it
    return Outline(measures.name, half, zones_of(measures))


def named(name: str) -> Outline:
    """A generic size by its plain name, such as `parlour` or `large auditorium`: a starting point.

    Raises:
        Mistake: no such size; lists those there are.
    """
    return draw(generic_measures(name))


def names() -> tuple[str, ...]:
    """The generic sizes there are."""
    return tuple(GENERIC)
