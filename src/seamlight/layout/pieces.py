"""A ring cut into pieces by strips square to the joint, and where it ends along the joint."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM
from seamlight.layout.carry import turn
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Index = NDArray[np.int64]
TOUCH_MM = 1e-6  # wood that falls short by less than this does not fall short
_CLIP_MM = 1e-7


@dataclass(frozen=True, eq=False)
class Pieces:
    """Edge pieces of a ring: piece i lies in strip `strip[i]`, from u = near to u = far, mm."""

    strip: Index
    near_mm: Array
    far_mm: Array

    def flipped(self, across: bool, along: bool) -> Pieces:
        """The same pieces seen with u or v counted the other way."""
        near, far = (-self.far_mm, -self.near_mm) if across else (self.near_mm, self.far_mm)
        return Pieces(-1 - self.strip if along else self.strip, near, far)


def turned(points_mm: Points, middle_mm: Points, tilt_deg: float) -> Points:
    """Points as (across, along) a line through `middle_mm` that is tilted by `tilt_deg`."""
    return np.asarray((points_mm - middle_mm) @ turn(tilt_deg))


def strip_pieces(ring_uv: Points) -> Pieces:
    """Cut a ring of (u, v) into pieces; what only touches a strip is not in it."""
    p, q = ring_uv, np.roll(ring_uv, -1, axis=0)
    low, high = np.minimum(p[:, 1], q[:, 1]), np.maximum(p[:, 1], q[:, 1])
    first = np.floor((low + _CLIP_MM) / STRIP_MM).astype(np.int64)
    last = np.ceil((high - _CLIP_MM) / STRIP_MM).astype(np.int64) - 1
    count = np.maximum(last - first + 1, 0)
    edge = np.repeat(np.arange(len(p)), count)
    strip = first[edge] + (np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count))
    rise = q[edge, 1] - p[edge, 1]
    level = np.abs(rise) <= 2 * _CLIP_MM
    safe = np.where(level, 1.0, rise)
    ends = []
    for border in (strip * STRIP_MM, (strip + 1) * STRIP_MM):
        along = np.where(level, 0.0, np.clip((border - p[edge, 1]) / safe, 0.0, 1.0))
        ends.append(p[edge, 0] + along * (q[edge, 0] - p[edge, 0]))
    near, far = np.minimum(*ends), np.maximum(*ends)
    near = np.where(level, np.minimum(p[edge, 0], q[edge, 0]), near)
    far = np.where(level, np.maximum(p[edge, 0], q[edge, 0]), far)
    return Pieces(strip, near, far)


def merged(pieces: Pieces) -> Pieces:
    """One piece a strip, from the least to the greatest u: a convex ring's own extent there."""
    strips, which = np.unique(pieces.strip, return_inverse=True)
    near = np.full(len(strips), np.inf)
    far = np.full(len(strips), -np.inf)
    np.minimum.at(near, which, pieces.near_mm)
    np.maximum.at(far, which, pieces.far_mm)
    return Pieces(strips, near, far)


def end_edges(ring_uv: Points) -> tuple[Points, Points]:
    """The edges (m, 2, 2) of a turned ring that may bound it at either end: those in its outer sixths."""
    low, high = ring_uv[:, 1].min(), ring_uv[:, 1].max()
    edges = np.stack([ring_uv, np.roll(ring_uv, -1, axis=0)], axis=1)
    sixth = (high - low) / 6
    return edges[edges[:, :, 1].min(axis=1) < low + sixth], edges[edges[:, :, 1].max(axis=1) > high - sixth]


def innermost(edges: Points, from_mm: Array, to_mm: Array, at_low_end: bool) -> Array:
    """How far the wood's end comes in between u = from and u = to, for (n,) such bands.

    Args:
        edges: (m, 2, 2) edges of the wood's end.
        from_mm, to_mm: (n,) the bands.
        at_low_end: the end of low v, whose innermost place is its greatest v; else the other.
    """
    u0, u1 = edges[:, 0, 0], edges[:, 1, 0]
    v0, v1 = edges[:, 0, 1], edges[:, 1, 1]
    low, high = np.minimum(u0, u1), np.maximum(u0, u1)
    near = np.maximum(low[None], from_mm[:, None] + TOUCH_MM)
    far = np.minimum(high[None], to_mm[:, None] - TOUCH_MM)
    run = u1 - u0
    slope = np.where(np.abs(run) > 1e-12, (v1 - v0) / np.where(np.abs(run) > 1e-12, run, 1.0), 0.0)
    upright = np.abs(run) <= 1e-12
    pick = np.maximum if at_low_end else np.minimum
    ends = pick(v0 + (near - u0) * slope, v0 + (far - u0) * slope)
    ends = np.where(upright[None], pick(v0, v1)[None], ends)
    worst = -np.inf if at_low_end else np.inf
    ends = np.where(near <= far, ends, worst)
    return np.asarray(ends.max(axis=1) if at_low_end else ends.min(axis=1))
