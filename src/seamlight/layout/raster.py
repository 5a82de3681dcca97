"""What the grain says on a grid turned with the joint: the points that the score sums over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import HalfBody
from seamlight.layout.pieces import turned
from seamlight.layout.score import GRID_AT_MM, GRID_MM, SEAM_BAND_MM, Sums
from seamlight.layout.side import Side
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
_ROUND_MM = 40.0


@dataclass(frozen=True, eq=False)
class Raster:
    """A side's grain at one tilt. Rows run along the joint, columns across it, both ascending.

    `angle_deg` is the grain's less the joint's. Where nothing was read the arrays are zero.
    """

    u_mm: Array  # (n,)
    v_mm: Array  # (m,)
    angle_deg: Array  # (m, n)
    spacing_mm: Array  # (m, n)
    ring_deg: Array  # (m, n)
    angle_read: bool
    spacing_read: bool
    ring_read: bool

    def flipped(self, across: bool, along: bool) -> Raster:
        """The same grid with u or v counted the other way; angles keep their sign."""
        rows = slice(None, None, -1) if along else slice(None)
        columns = slice(None, None, -1) if across else slice(None)
        return Raster(
            -self.u_mm[columns] if across else self.u_mm,
            -self.v_mm[rows] if along else self.v_mm,
            self.angle_deg[rows, columns],
            self.spacing_mm[rows, columns],
            self.ring_deg[rows, columns],
            self.angle_read,
            self.spacing_read,
            self.ring_read,
        )


def raster_of(side: Side, tilt_deg: float) -> Raster:
    """Sample a side's grain on the grid of one tilt."""
    wood = turned(side.wood_mm, side.middle_mm, tilt_deg)
    u, v = (
        np.arange(np.floor((low - _ROUND_MM) / GRID_MM), np.ceil((high + _ROUND_MM) / GRID_MM)) * GRID_MM
        + GRID_AT_MM
        for low, high in zip(wood.min(axis=0), wood.max(axis=0), strict=True)
    )
    points = turned(np.stack(np.meshgrid(u, v), axis=-1).reshape(-1, 2), np.zeros(2), -tilt_deg)
    points = points + side.middle_mm
    shape = (len(v), len(u))
    none = np.zeros(shape)
    angle = side.angle_deg(points).reshape(shape) - tilt_deg if side.angle_deg else none
    spacing = side.spacing_mm(points).reshape(shape) if side.spacing_mm else none
    ring = side.ring_to_face_deg(points).reshape(shape) if side.ring_to_face_deg else none
    return Raster(
        u,
        v,
        angle,
        spacing,
        ring,
        side.angle_deg is not None,
        side.spacing_mm is not None,
        side.ring_to_face_deg is not None,
    )


def seam_flags(u_mm: Array, v_mm: Array, body: HalfBody) -> Flags:
    """Which of the grid's points lie within the seam's band over the body's length."""
    rows = (v_mm >= 0) & (v_mm <= body.length_mm)
    return np.asarray(rows[:, None] & ((u_mm > 0) & (u_mm <= SEAM_BAND_MM))[None])


def plate_sums(raster: Raster, body: HalfBody, offset_mm: float, shift_mm: float) -> Sums:
    """Sums over the points inside the outline of one place."""
    u, v = raster.u_mm - offset_mm, raster.v_mm - shift_mm
    half = np.where((v >= 0) & (v <= body.length_mm), body.half_at(v), 0.0)[:, None]
    inside = (u[None] > 0) & (u[None] <= half)
    third = np.where(u[None] <= half / 3, 0, np.where(u[None] <= 2 * half / 3, 1, 2))
    return sums_over(raster, inside, third)


def sums_over(raster: Raster, inside: Flags, third: NDArray[np.int64]) -> Sums:
    """Sums over chosen points of the grid; `third` counts from the joint outward."""

    def total(values: Array, where: Flags) -> Array:
        return np.asarray(np.sum(values, where=where))

    def count(where: Flags) -> Array:
        return np.asarray(float(where.sum()))

    def space(where: Flags) -> Array:
        return total(raster.spacing_mm, where)

    joint, middle, edge = (inside & (third == i) for i in range(3))
    return Sums(
        count=count(inside),
        angle=total(raster.angle_deg, inside),
        angle_squared=total(raster.angle_deg**2, inside),
        spacing=space(inside),
        spacing_squared=total(raster.spacing_mm**2, inside),
        third_counts=(count(joint), count(middle), count(edge)),
        third_spacings=(space(joint), space(middle), space(edge)),
    )


def mean_over(values: Array, flags: Flags) -> float:
    """Mean over chosen points; 0 where none is chosen."""
    return float(values[flags].mean()) if flags.any() else 0.0


def points_of(raster: Raster) -> Points:
    """The grid as (m * n, 2) points (u, v)."""
    return np.stack(np.meshgrid(raster.u_mm, raster.v_mm), axis=-1).reshape(-1, 2)
