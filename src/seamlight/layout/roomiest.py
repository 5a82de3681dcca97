"""Of places that tie in all but room, the one with the most."""

from __future__ import annotations

import sys
from typing import NamedTuple

import numpy as np

from seamlight.layout.body import STRIP_MM
from seamlight.layout.domain import Domain, Found, Spot
from seamlight.layout.judge import Half, Place, Room, room_at
from seamlight.layout.layers import Turner
from seamlight.layout.score import Key, rounded


class Tied(NamedTuple):
    """A place and the room that it has at most, mm."""

    most_mm: float
    spot: Spot


def roomiest(domain: Domain, turner: Turner, code: int, tied: list[Tied]) -> Found:
    """The roomiest of places that share a coded key."""
    best: Found | None = None
    for most, spot in sorted(tied, key=lambda t: -t.most_mm):
        if best is not None and -_hundredths(most) > best.key.tight:
            break
        places = zip((domain.a, domain.b), spot.places(domain), strict=True)
        rooms = [room_on_grid(half, place, turner) for half, place in places]
        spare, ends = min(r.spare_mm for r in rooms), min(r.end_spare_mm for r in rooms)
        key = decoded(code, spare, ends)
        if best is None or key < best.key:
            best = Found(spot, key)
    if best is None:
        raise ValueError("no place of the grid has wood at the joint")
    return best


def room_on_grid(half: Half, place: Place, turner: Turner) -> Room:
    """The room at a place of the grid, from edges that are turned already."""
    edges = turner.side(half, place.tilt_deg).edges
    return room_at(edges, half.body, place.offset_mm, round(place.shift_mm / STRIP_MM))


def decoded(code: int, spare_mm: float, end_spare_mm: float) -> Key:
    """A coded key and the room as a key."""
    first = code >> 24, (code >> 21) & 7, (code >> 11) & 1023, code & 2047
    return Key(*first, -_hundredths(spare_mm), -end_spare_mm)


def _hundredths(mm: float) -> int:
    return int(rounded(np.array(mm), 100.0)) if np.isfinite(mm) else sys.maxsize
