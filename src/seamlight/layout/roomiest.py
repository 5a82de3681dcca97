"""Of places that tie in all but room, the one with the most."""

from __future__ import annotations

from typing import NamedTuple

from seamlight.layout.body import STRIP_MM
from seamlight.layout.domain import Domain, Found, Spot
from seamlight.layout.judge import Half, Place, room_at
from seamlight.layout.layers import Turner
from seamlight.layout.score import Key


class Tied(NamedTuple):
    """A place and the room that it has at most, mm."""

    most_mm: float
    spot: Spot


def roomiest(domain: Domain, turner: Turner, code: int, tied: list[Tied]) -> Found:
    """The roomiest of places that share a coded key."""
    best: Tied | None = None
    for most, spot in sorted(tied, key=lambda t: -t.most_mm):
        if best is not None and most <= best.most_mm:
            break
        places = zip((domain.a, domain.b), spot.places(domain), strict=True)
        room = min(room_on_grid(half, place, turner) for half, place in places)
        if best is None or room > best.most_mm:
            best = Tied(room, spot)
    if best is None:
        raise ValueError("no place of the grid has wood at the joint")
    return Found(best.spot, decoded(code, best.most_mm))


def room_on_grid(half: Half, place: Place, turner: Turner) -> float:
    """The spare of a place of the grid, from edges that are turned already."""
    edges = turner.side(half, place.tilt_deg).edges
    return room_at(edges, half.body, place.offset_mm, round(place.shift_mm / STRIP_MM)).spare_mm


def decoded(code: int, spare_mm: float) -> Key:
    """A coded key and the room as a key."""
    return Key(code >> 24, (code >> 21) & 7, (code >> 11) & 1023, code & 2047, -spare_mm)
