"""One half of the body as the layout counts it: strips of half width, and the zones that hide a flaw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.opening import Edge, LayoutSettings, Zone
from seamlight.outline import half_width_at
from seamlight.outline.shape import Outline, Zones

Array = NDArray[np.float64]
Ranks = NDArray[np.int64]
Rank = Literal["waste", Zone]

STRIP_MM = 0.5
ZONES: tuple[Rank, ...] = ("waste", "soundhole", "bridge", "fingerboard", "edge", "open")
_HAIR = 1e-9  # mm; keeps a point that lies on a border on the inner side of it in every way of counting
_END_WIDTH_AT_MM = 1.0


@dataclass(frozen=True, eq=False)
class HalfBody:
    """One half of an outline with what is wanted round it. u is square to the joint, v along it, mm.

    `strip_mm[k]` is the greatest half width from v = k * STRIP_MM to the next strip; `table_v_mm`,
    `table_half_mm` and `table_inner_mm` give the edge and the inner border of the edge band by straight
    lines between places half a millimetre apart.
    """

    length_mm: float
    trim_mm: float
    end_trim_mm: float
    joint_mm: float
    strip_mm: Array
    table_v_mm: Array
    table_half_mm: Array
    table_inner_mm: Array
    neck_width_mm: float
    tail_width_mm: float
    zones: Zones
    use: Literal["top", "back"]

    @property
    def widest_mm(self) -> float:
        """Greatest half width."""
        return float(self.strip_mm.max())

    @property
    def seam_strips(self) -> tuple[int, int]:
        """First strip and the one after the last that lie wholly within the body and its end trims."""
        first = int(np.ceil(-self.end_trim_mm / STRIP_MM - 1e-7))
        last = int(np.floor((self.length_mm + self.end_trim_mm) / STRIP_MM + 1e-7))
        return first, last

    def half_at(self, v_mm: Array) -> Array:
        """Half width at v; -1 beyond the ends."""
        half = np.interp(v_mm, self.table_v_mm, self.table_half_mm)
        return np.where((v_mm >= -_HAIR) & (v_mm <= self.length_mm + _HAIR), half, -1.0)

    def reach(self, zone: Rank, v_mm: Array) -> Array:
        """How far from the joint a hidden zone reaches at v; -1 where it does not."""
        z = self.zones
        if self.use == "back":
            return np.full_like(v_mm, -1.0)
        if zone == "soundhole":
            across = (z.soundhole_mm / 2) ** 2 - (v_mm - z.soundhole_y_mm) ** 2
            return np.where(across >= 0, np.sqrt(np.maximum(across, 0.0)), -1.0)
        if zone == "bridge":
            along = np.abs(v_mm - z.bridge_y_mm) <= z.bridge_length_mm / 2 + _HAIR
            return np.where(along & (z.bridge_length_mm > 0), z.bridge_width_mm / 2, -1.0)
        if zone == "fingerboard":
            along = (v_mm <= z.fingerboard_end_mm + _HAIR) & (z.fingerboard_end_mm > 0)
            return np.where(along, z.fingerboard_half_width_mm, -1.0)
        raise ValueError(zone)

    def clear_beyond(self, rank: int, v_mm: Array) -> tuple[Array, Array]:
        """Where a point at v ranks worse than `rank`: from u = first to u = second, both counted in."""
        half = self.half_at(v_mm)
        inner = np.interp(v_mm, self.table_v_mm, self.table_inner_mm)
        far = np.minimum(half, inner) if rank >= ZONES.index("edge") else half
        near = np.full_like(v_mm, -1.0)
        for zone in ZONES[1 : min(rank, 3) + 1]:
            near = np.maximum(near, self.reach(zone, v_mm))
        first = np.where(near >= 0, near + _HAIR, -_HAIR)
        return first, far + _HAIR

    def zone_rank(self, u_mm: Array, v_mm: Array) -> Ranks:
        """Index into ZONES of the first zone in the trade's order that holds each point."""
        rank = np.zeros(u_mm.shape, dtype=np.int64)
        for worse_than in range(len(ZONES) - 1):
            first, last = self.clear_beyond(worse_than, v_mm)
            rank += (u_mm >= first) & (u_mm <= last)
        return rank


def half_body(outline: Outline, half: Edge, settings: LayoutSettings) -> HalfBody:
    """The half of `outline` on one side, seen from the front with the neck up."""
    length = outline.length_mm
    table_v = np.append(np.arange(0.0, length - 1e-6, STRIP_MM), length)
    table = half_width_at(outline, table_v, half)
    strips = int(np.floor(length / STRIP_MM + 1e-7))
    fine = np.linspace(0.0, strips * STRIP_MM, strips * 5 + 1)
    fine_half = half_width_at(outline, np.minimum(fine, length), half)
    within = np.lib.stride_tricks.sliding_window_view(fine_half, 6)[::5]
    ends = half_width_at(outline, np.array([_END_WIDTH_AT_MM, length - _END_WIDTH_AT_MM]), half)
    return HalfBody(
        length_mm=length,
        trim_mm=settings.trim_mm,
        end_trim_mm=settings.end_trim_mm,
        joint_mm=settings.joint_mm,
        strip_mm=within.max(axis=1),
        table_v_mm=table_v,
        table_half_mm=table,
        table_inner_mm=_inner_border(table_v, table, outline.zones.edge_band_mm),
        neck_width_mm=float(ends[0]),
        tail_width_mm=float(ends[1]),
        zones=outline.zones,
        use=settings.use,
    )


def _inner_border(v_mm: Array, half_mm: Array, band_mm: float) -> Array:
    """Half width of what a disc of radius `band_mm` leaves when it rolls along the edge inside; -1: nothing.

    An eroded shape is what its shifted copies share:
    inner(v) = min over d of half(v + d) - sqrt(band^2 - d^2).
    """
    if band_mm <= 0:
        return half_mm
    inner = half_mm.copy()
    for shift in np.linspace(-band_mm, band_mm, int(np.ceil(8 * band_mm)) + 1):
        at = v_mm + shift
        beyond = (at < -_HAIR) | (at > v_mm[-1] + _HAIR)
        there = np.interp(at, v_mm, half_mm) - np.sqrt(max(band_mm**2 - shift**2, 0.0))
        inner = np.minimum(inner, np.where(beyond, -1.0, there))
    return np.maximum(inner, -1.0)
