"""Triangles over a plate's outline with its soundhole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay
from shapely import Polygon

from seamlight.mistake import Mistake
from seamlight.plate.legendre import Array

_CORNER_DEG = 25.0  # the outline's turns sharper than this keep a corner of their own
_SMOOTHED = 8


@dataclass(frozen=True, eq=False)
class Mesh:
    """Nodes (n, 2) in mm; triangles (m, 3), counter-clockwise; nodes on the outer edge and on the hole's."""

    nodes_mm: Array
    triangles: NDArray[np.intp]
    rim: NDArray[np.intp]
    hole: NDArray[np.intp]

    @property
    def corners(self) -> Array:
        """(m, 3, 2) mm."""
        return np.asarray(self.nodes_mm[self.triangles], dtype=np.float64)

    def area_mm2(self) -> float:
        """Area of all triangles."""
        c = self.corners
        a, b = c[:, 1] - c[:, 0], c[:, 2] - c[:, 0]
        return float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2)


def _evenly(ring: Array, spacing_mm: float) -> Array:
    """Points along a closed ring (its end not repeated), about evenly spaced, corners kept."""
    points = ring[:-1] if np.allclose(ring[0], ring[-1]) else ring
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    sharp = np.nonzero(np.abs(turn) > np.radians(_CORNER_DEG))[0]
    starts = sharp if len(sharp) else np.array([0])
    pieces = []
    for start, end in zip(starts, [*starts[1:], starts[0] + len(points)], strict=True):
        run = points[np.arange(start, end + 1) % len(points)]
        walked = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(run, axis=0), axis=1))))
        steps = max(round(float(walked[-1]) / spacing_mm), 1)
        at = np.linspace(0, walked[-1], steps + 1)[:-1]
        pieces.append(np.stack([np.interp(at, walked, run[:, axis]) for axis in range(2)], axis=1))
    return np.concatenate(pieces)


def _lattice(domain: Polygon, spacing_mm: float) -> Array:
    """Points of a triangular lattice well inside, mirrored on x = 0."""
    low_x, low_y, high_x, high_y = domain.bounds
    rise = spacing_mm * np.sqrt(3) / 2
    reach = int(max(abs(low_x), abs(high_x)) / spacing_mm) + 2
    rows = np.arange(low_y, high_y, rise)
    x = (
        np.arange(-reach, reach + 1)[None, :] * spacing_mm
        + (np.arange(len(rows)) % 2)[:, None] * spacing_mm / 2
    )
    y = np.broadcast_to(rows[:, None], x.shape)
    points = np.stack((x.ravel(), y.ravel()), axis=1)
    inner = domain.buffer(-0.55 * spacing_mm)
    return np.asarray(points[shapely.contains_xy(inner, points[:, 0], points[:, 1])], dtype=np.float64)


def _triangles(nodes: Array, domain: Polygon, spacing_mm: float) -> NDArray[np.intp]:
    found = Delaunay(nodes).simplices.astype(np.intp)
    middle = nodes[found].mean(axis=1)
    kept = found[shapely.contains_xy(domain, middle[:, 0], middle[:, 1])]
    a, b = nodes[kept[:, 1]] - nodes[kept[:, 0]], nodes[kept[:, 2]] - nodes[kept[:, 0]]
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    whole = np.abs(turn) > 1e-3 * spacing_mm**2
    kept, turn = kept[whole], turn[whole]
    kept[turn < 0] = kept[turn < 0][:, ::-1]
    return np.asarray(kept, dtype=np.intp)


def _smoothed(nodes: Array, triangles: NDArray[np.intp], fixed: int) -> Array:
    """Inner nodes moved to the middle of their neighbours; the first `fixed` stay."""
    i = triangles[:, [0, 1, 2, 1, 2, 0]].ravel()
    j = triangles[:, [1, 2, 0, 0, 1, 2]].ravel()
    total, count = np.zeros_like(nodes), np.bincount(i, minlength=len(nodes))
    np.add.at(total, i, nodes[j])
    moved = nodes.copy()
    inner = np.arange(len(nodes)) >= fixed
    inner &= count > 0
    moved[inner] = total[inner] / count[inner, None]
    return moved


def mesh(edge_mm: Array, spacing_mm: float, hole_mm: tuple[float, float, float] | None = None) -> Mesh:
    """Triangles of about one size over a closed outline.

    Args:
        edge_mm: (n, 2) the outline, closed or not.
        hole_mm: x, y and radius of the soundhole.

    Raises:
        Mistake: the outline crosses itself, or the hole does not lie inside.
    """
    whole = Polygon(edge_mm)
    if not whole.is_valid:
        raise Mistake("the outline crosses itself", do="draw it as one closed curve")
    rim = _evenly(np.asarray(shapely.get_coordinates(whole.exterior), dtype=np.float64), spacing_mm)
    ring = np.zeros((0, 2))
    if hole_mm is not None and hole_mm[2] > 0:
        x, y, radius = hole_mm
        if not whole.contains(shapely.Point(x, y).buffer(radius)):
            raise Mistake("the soundhole does not lie inside the outline", do="check its place and size")
        steps = max(round(2 * np.pi * radius / spacing_mm), 12)
        angle = np.arange(steps) / steps * 2 * np.pi + np.pi / steps
        ring = np.stack((x + radius * np.cos(angle), y + radius * np.sin(angle)), axis=1)
    domain = Polygon(rim, [ring] if len(ring) else None)
    nodes = np.concatenate((rim, ring, _lattice(domain, spacing_mm)))
    fixed = len(rim) + len(ring)
    for _ in range(_SMOOTHED):
        nodes = _smoothed(nodes, _triangles(nodes, domain, spacing_mm), fixed)
    triangles = _triangles(nodes, domain, spacing_mm)
    used = np.unique(triangles)
    used = used[np.lexsort((nodes[used, 0], nodes[used, 1]))]  # along the body: a narrow band
    place = np.full(len(nodes), -1)
    place[used] = np.arange(len(used))
    kept_rim, kept_ring = place[: len(rim)], place[len(rim) : fixed]
    return Mesh(nodes[used], place[triangles], kept_rim[kept_rim >= 0], kept_ring[kept_ring >= 0])
