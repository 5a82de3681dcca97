"""The side line of a body by its measures: the fairest curve that meets them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from seamlight.mistake import Mistake
from seamlight.outline.curve import Array
from seamlight.outline.fair import Fair, bends_over, fairest
from seamlight.outline.measures import Measures
from seamlight.outline.places import Place, Start, Wanted
from seamlight.outline.rough import QUARTER, guess, slope_line

_DOWN, _BACK = np.pi / 2, np.pi  # headings at bouts and waist, and at the tail
_USUAL_FULLNESS = 2.3  # of the rough line


def _corner(fullness: float) -> float:
    """How far out the middle of a quarter superellipse of half axes 1 lies, along either axis."""
    # |x|^n + |y|^n = 1 at x = y
    return float(2 ** (-1 / fullness))


def shoulder_place(m: Measures, fullness: float) -> tuple[float, float]:
    """The middle of a superelliptic shoulder from the neck flat to the upper bout, x and y in mm."""
    flat, upper, out = m.neck_flat_mm / 2, m.upper_bout_mm / 2, _corner(fullness)
    return flat + (upper - flat) * out, m.upper_at_mm * (1 - out)


def lower_place(m: Measures, fullness: float) -> tuple[float, float]:
    """The middle of a superelliptic quarter from the lower bout to the tail, x and y in mm."""
    out = _corner(fullness)
    return m.lower_bout_mm / 2 * out, m.lower_at_mm + (m.length_mm - m.lower_at_mm) * out


def _rough_line(m: Measures) -> tuple[Array, list[int]]:
    """A rough side line, and the indices of shoulder, upper bout, waist, lower bout and lower corner."""
    n, k = 2 / (m.shoulder_fullness or _USUAL_FULLNESS), 2 / (m.lower_fullness or _USUAL_FULLNESS)
    flat, upper, waist, lower = m.neck_flat_mm / 2, m.upper_bout_mm / 2, m.waist_mm / 2, m.lower_bout_mm / 2
    sin, cos = np.sin(QUARTER), np.abs(np.cos(QUARTER))
    shoulder = np.stack([flat + (upper - flat) * sin**n, m.upper_at_mm * (1 - cos**n)], axis=1)
    over = m.length_mm - m.lower_at_mm
    tail = np.stack([lower * cos**k, m.lower_at_mm + over * sin**k], axis=1)
    upper_side = slope_line(upper, m.upper_at_mm, waist, m.waist_at_mm)
    lower_side = slope_line(waist, m.waist_at_mm, lower, m.lower_at_mm)
    parts = [shoulder, upper_side, lower_side, tail[1:]]
    ends = [int(end) for end in np.cumsum([len(part) for part in parts])[:3] - 1]
    middle = len(QUARTER) // 2
    return np.concatenate(parts), [middle, *ends, ends[2] + middle]


def _places(m: Measures) -> tuple[tuple[Place, ...], list[bool]]:
    """The places the side line has to pass, and which of the rough line's corners they are."""
    waist_bend = None if m.waist_radius_mm is None else -1 / m.waist_radius_mm
    tail_bend = None if m.tail_radius_mm is None else 1 / m.tail_radius_mm
    shoulder = None if m.shoulder_fullness is None else Place(*shoulder_place(m, m.shoulder_fullness))
    lower = None if m.lower_fullness is None else Place(*lower_place(m, m.lower_fullness))
    corners = (
        shoulder,
        Place(m.upper_bout_mm / 2, m.upper_at_mm, _DOWN),
        Place(m.waist_mm / 2, m.waist_at_mm, _DOWN, waist_bend),
        Place(m.lower_bout_mm / 2, m.lower_at_mm, _DOWN),
        lower,
    )
    tail = Place(0.0, m.length_mm, _BACK, tail_bend)
    there = [place is not None for place in corners]
    return (*(place for place in corners if place is not None), tail), there


@lru_cache(maxsize=64)
def side_line(m: Measures) -> tuple[Fair, tuple[float, float, float]]:
    """The right half's side line from the end of the neck flat to the tail, and s of its three widths.

    The measures are met to 1e-7 mm or better. A cutaway is left out.

    Raises:
        Mistake: no fair curve has these measures.
    """
    places, there = _places(m)
    # the neck flat is straight, so the curve must leave it with no curvature
    wanted = Wanted(Start(m.neck_flat_mm / 2, 0.0, 0.0, straight=True), places, m.length_mm)
    points, corners = _rough_line(m)
    kept = [corner for corner, is_there in zip(corners, there, strict=True) if is_there]
    found = fairest(wanted, guess(points, kept, wanted))
    if not found.met or bends_over(found.line) != 2:
        raise Mistake(
            "no fair curve has these measures",
            where=m.name,
            do="move the waist or the bouts, or ask for another radius or fullness",
        )
    first = int(there[0])
    upper, waist, lower = found.at_mm[first : first + 3]
    return found, (upper, waist, lower)
