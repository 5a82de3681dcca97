"""Outlines from measures."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import ceil

import numpy as np

from seamlight.outline.curve import Array
from seamlight.outline.cutaway import cutaway_line
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


def _half(measures: Measures, side: Array) -> Array:
    half = np.concatenate((np.zeros((1, 2)), side))
    half[1] = (measures.neck_flat_mm / 2, 0.0)
    half[-1] = (0.0, measures.length_mm)
    half.setflags(write=False)  # the same outline is handed to everyone who asks for it
    return half


def _cut_side(measures: Measures, below_waist: Array) -> Array:
    """The side line with the cutaway down to the waist, the plain one from there on."""
    line = cutaway_line(measures)
    places = _places(tuple(np.cumsum(line.pieces_mm)))
    return np.concatenate((line.at(places[:-1])[0], below_waist))


@lru_cache(maxsize=64)
def draw(measures: Measures) -> Outline:
    """The fairest outline with these measures; its points are at most 1 mm apart, the neck flat one straight.

    Raises:
        Mistake: no fair curve has these measures.
    """
    found, at_mm = side_line(replace(measures, cutaway=None))
    places = _places((*at_mm, found.line.length_mm))
    side = found.line.points(places)
    plain, zones = _half(measures, side), zones_of(measures)
    if measures.cutaway is None:
        return Outline(measures.name, plain, zones)
    cut = _half(measures, _cut_side(measures, side[np.searchsorted(places, at_mm[1]) :]))
    right, left = (cut, plain) if measures.cutaway.side == "right" else (plain, cut)
    corner = f"the one corner: where the cutaway on the {measures.cutaway.side} leaves the neck flat"
    return Outline(measures.name, right, zones, left_half_mm=left, notes=(corner,))


def named(name: str) -> Outline:
    """A generic size by its plain name, such as `parlour` or `large auditorium`: a starting point.

    Raises:
        Mistake: no such size; lists those there are.
    """
    return draw(generic_measures(name))


def names() -> tuple[str, ...]:
    """The generic sizes there are."""
    return tuple(GENERIC)
