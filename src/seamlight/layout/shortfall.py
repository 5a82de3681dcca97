"""Where the wood does not reach, and how much more may come off the joint edge."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, ZONES
from seamlight.layout.judge import (
    Edges,
    Half,
    Place,
    Room,
    Verdict,
    edges_of,
    hole_room,
    in_seam,
    room_at,
    slacks,
    strip_widths,
    wood_ends,
)
from seamlight.layout.opening import Short
from seamlight.layout.pieces import TOUCH_MM

Array = NDArray[np.float64]


def room_by_strip(half: Half, place: Place) -> Array:
    """Room beyond the outline less trim in each strip of the body; inf where nothing bounds it."""
    body = half.body
    edges = edges_of(half, place)
    neck_mm, tail_mm = wood_ends(edges, body, 0.0, 0.0)
    inner, outer = slacks(edges.wood, body, neck_mm, tail_mm)
    room = np.full(len(body.strip_mm), np.inf)
    on = (edges.wood.strip >= 0) & (edges.wood.strip < len(room)) & (outer > inner)
    np.minimum.at(room, edges.wood.strip[on], outer[on])
    for hole in edges.holes:
        width = strip_widths(body, hole.strip)
        on = (hole.strip >= 0) & (hole.strip < len(room)) & (hole.far_mm > width + TOUCH_MM)
        on &= in_seam(hole, body, neck_mm, tail_mm)
        np.minimum.at(room, hole.strip[on], (hole.near_mm - width - body.trim_mm)[on])
    return room


def shorts_of(half: Half, place: Place, room: Room, leaf: Literal["a", "b"]) -> tuple[Short, ...]:
    """Each stretch where the leaf is short, from the neck end."""
    body, found = half.body, []
    if room.neck_spare_mm < -TOUCH_MM:
        by = -room.neck_spare_mm
        found.append(Short(leaf, by, -body.end_trim_mm, by - body.end_trim_mm))
    strips = room_by_strip(half, place)
    lacking = np.flatnonzero(np.diff(np.concatenate([[False], strips < -TOUCH_MM, [False]]).astype(int)))
    for start, stop in lacking.reshape(-1, 2):
        first, last = _crossing(half, strips, int(start), -1), _crossing(half, strips, int(stop) - 1, 1)
        found.append(Short(leaf, float(-strips[start:stop].min()), first, last))
    found += _struck(half, place, leaf)
    if room.tail_spare_mm < -TOUCH_MM:
        by, last = -room.tail_spare_mm, body.length_mm + body.end_trim_mm
        found.append(Short(leaf, by, last - by, last))
    return tuple(found)


def _crossing(half: Half, room_mm: Array, strip: int, way: int) -> float:
    """Where in an outermost short strip the outline crosses the wood's edge: neck (-1) or tail (1) side."""
    ends = np.array([strip, strip + 1]) * STRIP_MM
    width = half.body.half_at(np.minimum(ends, half.body.length_mm))
    inner, outer = (width[1], width[0]) if way < 0 else (width[0], width[1])
    limit = half.body.strip_mm[strip] + room_mm[strip]  # where the wood ends, less trim
    share = float(np.clip((limit - outer) / (inner - outer), 0.0, 1.0)) if inner > outer else 0.0
    return float(ends[0] + share * STRIP_MM if way < 0 else ends[1] - share * STRIP_MM)


def _struck(half: Half, place: Place, leaf: Literal["a", "b"]) -> list[Short]:
    """Holes that the seam runs through."""
    edges = edges_of(half, place)
    ends = wood_ends(edges, half.body, 0.0, 0.0)
    found = []
    for hole in edges.holes:
        by = hole_room(hole, half.body, *ends)[0]
        if by > TOUCH_MM:
            along = float(hole.strip.min() * STRIP_MM), float((hole.strip.max() + 1) * STRIP_MM)
            found.append(Short(leaf, by, *along))
    return found


def joint_room(half: Half, place: Place, verdict: Verdict) -> float:
    """How much further the joint may move in before the leaf is short or a flaw is struck, mm."""
    if verdict.room.short:
        return 0.0
    room = max(0.0, min(verdict.room.spare_mm, _until_struck(half, place, dict(verdict.zones))))
    edges = edges_of(half, place)
    return room if _still_fits(edges, half, room) else _last_fit(edges, half, room)


def _until_struck(half: Half, place: Place, ranks: dict[int, int]) -> float:
    """How far the joint may move in before a flaw's point falls in a zone worse than the flaw's now."""
    nearest = np.inf
    for flaw in half.side.flaws:
        rank = ranks.get(flaw.index, 0)
        if flaw.counts and rank < len(ZONES) - 1:
            uv = half.to_body(flaw.points_mm, place)
            first, last = half.body.clear_beyond(rank, uv[:, 1])
            ahead = (uv[:, 0] - last)[(first <= last) & (uv[:, 0] > last)]
            nearest = min(nearest, float(ahead.min(initial=np.inf)))
    return nearest


def _still_fits(edges: Edges, half: Half, moved_mm: float) -> bool:
    return room_at(edges, half.body, moved_mm, 0).short == 0


def _last_fit(edges: Edges, half: Half, most_mm: float) -> float:
    """Where the wood's ends slant, the last place that still fits, to a hundredth."""
    low, high = 0.0, most_mm
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if _still_fits(edges, half, middle) else (low, middle)
    return low
