"""Judges one place of the joint line and the outline on one leaf, and on both: the score's definition."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, HalfBody
from seamlight.layout.pieces import (
    TOUCH_MM,
    Pieces,
    end_edges,
    innermost,
    merged,
    strip_pieces,
    turned,
)
from seamlight.layout.raster import Raster, mean_over, plate_sums, raster_of, seam_flags
from seamlight.layout.score import NO_PLACE, Key, LeafParts, Sums, figure_tenths, leaf_parts, lost, rounded
from seamlight.layout.side import FlawPoints, Side
from seamlight.photo.flat import Points

Array = NDArray[np.float64]


class Place(NamedTuple):
    """Where the joint and the body's neck end lie on one leaf, from the middle of leaf A's bounding box.

    `offset_mm` is the joint's, square to it into the leaf; `shift_mm` the neck end's, along it to the tail.
    """

    tilt_deg: float
    offset_mm: float
    shift_mm: float


@dataclass(frozen=True, eq=False)
class Half:
    """A side, the half of the body that goes on it, and which way it faces: what stays while it is moved."""

    side: Side
    body: HalfBody
    joint_left: bool  # in leaf A's frame
    neck_first: bool  # the neck lies toward end 1

    def to_body(self, points_mm: Points, place: Place) -> Points:
        """Points of leaf A's frame as (u, v) from the joint and the neck end."""
        signs = np.array([1.0 if self.joint_left else -1.0, 1.0 if self.neck_first else -1.0])
        middle = self.side.middle_mm
        start = np.array([place.offset_mm, place.shift_mm])
        return np.asarray(turned(points_mm, middle, place.tilt_deg) * signs - start)

    def to_frame(self, points_uv: Points, place: Place) -> Points:
        """Undoes `to_body`."""
        signs = np.array([1.0 if self.joint_left else -1.0, 1.0 if self.neck_first else -1.0])
        across = (points_uv + np.array([place.offset_mm, place.shift_mm])) * signs
        return turned(across, np.zeros(2), -place.tilt_deg) + self.side.middle_mm


@dataclass(frozen=True, eq=False)
class Edges:
    """The edges of a side's wood, turned with the joint: what room at any place is read from."""

    wood: Pieces
    low_end: Points
    high_end: Points
    holes: tuple[Pieces, ...]


class Room(NamedTuple):
    """What the wood leaves, mm; below 0: short."""

    joint_slack_mm: float
    spare_mm: float
    neck_spare_mm: float
    tail_spare_mm: float
    struck_mm: float

    @property
    def end_spare_mm(self) -> float:
        """Room beyond the worse end."""
        return min(self.neck_spare_mm, self.tail_spare_mm)

    @property
    def short(self) -> int:
        """What is short beside the outline and at the worse end, hundredths of a millimetre; 0: it fits."""
        if self.joint_slack_mm < -TOUCH_MM:
            return NO_PLACE
        beside, ends = max(0.0, -self.spare_mm), max(0.0, -self.neck_spare_mm, -self.tail_spare_mm)
        by = beside + ends + self.struck_mm
        return 0 if by <= 2 * TOUCH_MM else max(1, int(rounded(np.array(by), 100.0)))


@dataclass(frozen=True, eq=False)
class Verdict:
    """How one place does on one leaf."""

    room: Room
    zones: tuple[tuple[int, int], ...]  # (flaw, rank) of each flaw not in the waste
    worst_zone: int
    seam_deg: float
    ring_deg: float
    planed_most_mm: float
    sums: Sums
    parts: LeafParts


@lru_cache(maxsize=64)
def cached_raster(side: Side, tilt_deg: float) -> Raster:
    """A side's grid at a tilt, kept: places that differ in offset and shift alone share it."""
    return raster_of(side, tilt_deg)


def judge(half: Half, place: Place) -> Verdict:
    """Judge one place on one leaf."""
    zones = flaw_zones(half, place, half.side.flaws)
    counted = {f.index for f in half.side.flaws if f.counts}
    raster = cached_raster(half.side, place.tilt_deg).flipped(not half.joint_left, not half.neck_first)
    seam = seam_flags(raster.u_mm - place.offset_mm, raster.v_mm - place.shift_mm, half.body)
    sums = plate_sums(raster, half.body, place.offset_mm, place.shift_mm)
    ring = mean_over(raster.ring_deg, seam)
    planed = planed_most(half, place)
    parts = leaf_parts(
        sums,
        np.asarray(ring) if raster.ring_read else None,
        np.asarray(planed),
        angle_read=raster.angle_read,
        spacing_read=raster.spacing_read,
    )
    return Verdict(
        room=wood_room(half, place),
        zones=zones,
        worst_zone=max((rank for i, rank in zones if i in counted), default=0),
        seam_deg=mean_over(raster.angle_deg, seam),
        ring_deg=ring,
        planed_most_mm=planed,
        sums=sums,
        parts=parts,
    )


def pair_key(a: Verdict, b: Verdict, from_registered_mm: float, figure_read: bool) -> Key:
    """The key of a place on both leaves; the slide counts from where the figure meets, or from end on end."""
    missing = lost(a.parts.tenths(), b.parts.tenths(), figure_tenths(from_registered_mm, figure_read))
    return Key(
        short=max(a.room.short, b.room.short),
        zone=max(a.worst_zone, b.worst_zone),
        grain=int(rounded(np.array(max(abs(a.seam_deg), abs(b.seam_deg))), 10.0)),
        lost=int(missing),
        tight=-int(rounded(np.array(min(a.room.spare_mm, b.room.spare_mm)), 100.0)),
        flush=-min(a.room.end_spare_mm, b.room.end_spare_mm),
    )


def edges_of(half: Half, place: Place) -> Edges:
    """The edges counted from a place."""
    ring = half.to_body(half.side.wood_mm, place)
    holes = tuple(merged(strip_pieces(half.to_body(h, place))) for h in half.side.holes_mm)
    return Edges(strip_pieces(ring), *end_edges(ring), holes)


def wood_room(half: Half, place: Place) -> Room:
    """The room that the wood of one leaf leaves at a place."""
    return room_at(edges_of(half, place), half.body, 0.0, 0)


def room_at(edges: Edges, body: HalfBody, offset_mm: float, shift_strips: int) -> Room:
    """The room at an offset and a whole number of strips along from where the edges are counted."""
    neck_mm, tail_mm = wood_ends(edges, body, offset_mm, shift_strips * STRIP_MM)
    pieces = _moved(edges.wood, offset_mm, shift_strips)
    inner, outer = slacks(pieces, body, neck_mm, tail_mm)
    at_joint = inner >= outer
    within = (pieces.strip >= 0) & (pieces.strip < len(body.strip_mm))
    joint_slack = float(inner[at_joint].min(initial=np.inf))
    spare = float(outer[~at_joint & within].min(initial=np.inf))
    struck = 0.0
    for hole in edges.holes:
        seam, edge = hole_room(_moved(hole, offset_mm, shift_strips), body, neck_mm, tail_mm)
        struck, spare = max(struck, seam), min(spare, edge)
    return Room(
        joint_slack if np.isfinite(joint_slack) else -1e6,
        spare if np.isfinite(spare) else -body.widest_mm,
        -neck_mm - body.end_trim_mm,
        tail_mm - body.length_mm - body.end_trim_mm,
        struck,
    )


def _moved(pieces: Pieces, offset_mm: float, shift_strips: int) -> Pieces:
    return Pieces(pieces.strip - shift_strips, pieces.near_mm - offset_mm, pieces.far_mm - offset_mm)


def wood_ends(edges: Edges, body: HalfBody, offset_mm: float, shift_mm: float) -> tuple[float, float]:
    """v of the wood's ends beside the joint, as wide as the body's own ends are."""
    at = np.array([offset_mm])
    neck = float(innermost(edges.low_end, at, at + body.neck_width_mm, True)[0]) - shift_mm
    tail = float(innermost(edges.high_end, at, at + body.tail_width_mm, False)[0]) - shift_mm
    # no end over the joint at all: as short as the whole body
    return neck if np.isfinite(neck) else body.length_mm, tail if np.isfinite(tail) else 0.0


def in_seam(pieces: Pieces, body: HalfBody, neck_mm: float, tail_mm: float) -> NDArray[np.bool_]:
    """Which pieces lie in strips of the seam that are wholly on wood along it."""
    first, last = body.seam_strips
    along = pieces.strip * STRIP_MM
    return np.asarray(
        (pieces.strip >= first)
        & (pieces.strip < last)
        & (along >= neck_mm - TOUCH_MM)
        & (along + STRIP_MM <= tail_mm + TOUCH_MM)
    )


def strip_widths(body: HalfBody, strip: NDArray[np.int64]) -> Array:
    """Half width of the body in each strip; 0 beyond its ends."""
    n = len(body.strip_mm)
    return np.where((strip >= 0) & (strip < n), body.strip_mm[np.clip(strip, 0, n - 1)], 0.0)


def slacks(pieces: Pieces, body: HalfBody, neck_mm: float, tail_mm: float) -> tuple[Array, Array]:
    """How far each piece of the wood's edge keeps clear behind the joint, and beyond the outline."""
    on = in_seam(pieces, body, neck_mm, tail_mm)
    within = (pieces.strip >= 0) & (pieces.strip < len(body.strip_mm))
    wanted = strip_widths(body, pieces.strip) + np.where(within, body.trim_mm, 0.0)
    inner = np.where(on, -pieces.far_mm - body.joint_mm, np.inf)
    return inner, np.where(on, pieces.near_mm - wanted, np.inf)


def hole_room(cut: Pieces, body: HalfBody, neck_mm: float, tail_mm: float) -> tuple[float, float]:
    """How far a hole struck by the seam reaches into the leaf; the room that a hole leaves at the outline."""
    on = in_seam(cut, body, neck_mm, tail_mm)
    struck = on & (cut.near_mm < -TOUCH_MM) & (cut.far_mm > TOUCH_MM)
    seam = float(cut.far_mm[struck].max(initial=0.0))
    within = on & (cut.strip >= 0) & (cut.strip < len(body.strip_mm))
    width = strip_widths(body, cut.strip)
    beyond = within & (cut.far_mm > width + TOUCH_MM)
    edge = (cut.near_mm - width - body.trim_mm)[beyond]
    return seam, float(edge.min(initial=np.inf))


def flaw_zones(half: Half, place: Place, flaws: tuple[FlawPoints, ...]) -> tuple[tuple[int, int], ...]:
    """(flaw, rank) of each flaw that is not wholly in the waste."""
    found = []
    for flaw in flaws:
        uv = half.to_body(flaw.points_mm, place)
        rank = int(half.body.zone_rank(uv[:, 0], uv[:, 1]).max(initial=0))
        if rank:
            found.append((flaw.index, rank))
    return tuple(found)


def planed_most(half: Half, place: Place) -> float:
    """The most wood that comes off the joint edge of the silhouette, over body and end trims."""
    pieces = strip_pieces(half.to_body(half.side.silhouette_mm, place))
    first, last = half.body.seam_strips
    on = (pieces.strip >= first) & (pieces.strip < last)
    return float(-pieces.near_mm[on].min(initial=0.0))
