"""From a map of how likely a flaw is to outlines in the leaf frame."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.photo.flat import Points

Plane = NDArray[np.float32]


@dataclass(frozen=True)
class Rule:
    """What makes a region of one kind a find."""

    low: float  # the outline is drawn at this likelihood
    high: float  # and a find somewhere reaches this one
    least_mm2: float
    least_length_mm: float = 0.0
    least_slender: float = 0.0  # length over mean width


@dataclass(frozen=True, eq=False)
class Region:
    """A connected place where one kind is likely."""

    shape: shapely.Polygon  # leaf frame, mm
    sure: float  # 0..1


FINER = 4  # the map is drawn out before contours are taken, so that outlines do not step


def regions(likely: Plane, px_per_mm: float, rule: Rule) -> tuple[Region, ...]:
    """Connected regions above `rule.low` that reach `rule.high`, largest first."""
    if not (likely >= rule.high).any():
        return ()
    fine = cv2.resize(likely, None, fx=FINER, fy=FINER, interpolation=cv2.INTER_LINEAR)
    above = (fine >= rule.low).astype(np.uint8)
    count, label, stats, _ = cv2.connectedComponentsWithStats(above, connectivity=8)
    found = []
    for one in range(1, count):
        x, y, w, h = (int(v) for v in stats[one, :4])
        part = label[y : y + h, x : x + w] == one
        values = fine[y : y + h, x : x + w][part]
        if values.max() < rule.high:
            continue
        shape = _outline(part, x, y, FINER * px_per_mm)
        if shape is not None and _keeps(shape, rule):
            found.append(Region(shape, float(values[values >= np.quantile(values, 0.5)].mean())))
    return tuple(sorted(found, key=lambda region: -region.shape.area))


def _outline(part: NDArray[np.bool_], x: int, y: int, px_per_mm: float) -> shapely.Polygon | None:
    """The outer contour of a mask as a valid polygon in mm, through the outer edges of its pixels."""
    padded = np.pad(part.astype(np.uint8), 1)
    contours, _ = cv2.findContours(padded, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=len)[:, 0].astype(np.float64)
    centres = (contour - 1 + (x, y) + 0.5) / px_per_mm
    half = 0.5 / px_per_mm
    line = shapely.Polygon(centres) if len(centres) >= 4 else shapely.MultiPoint(centres).convex_hull
    shape = shapely.make_valid(line).buffer(half, quad_segs=2).simplify(half)
    return largest(shape)


def largest(shape: shapely.Geometry) -> shapely.Polygon | None:
    """The largest polygon of a geometry, its holes filled; None where there is none."""
    parts = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and p.area > 0]
    if not parts:
        return None
    best = max(parts, key=lambda part: part.area)
    return shapely.Polygon(best.exterior)


def _keeps(shape: shapely.Polygon, rule: Rule) -> bool:
    if shape.area < rule.least_mm2:
        return False
    length, width = length_and_width_mm(shape)
    return length >= rule.least_length_mm and length >= rule.least_slender * width


def length_and_width_mm(shape: shapely.Polygon) -> tuple[float, float]:
    """The longer side of the least rectangle around a shape, and its mean width (area over length)."""
    corners = np.asarray(shapely.minimum_rotated_rectangle(shape).exterior.coords)
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    length = float(max(sides.max(), 1e-6))
    return length, float(shape.area) / length


def points_of(shape: shapely.Polygon) -> Points:
    """(n, 2) vertices, not closed by a repeated point."""
    return np.asarray(shape.exterior.coords, dtype=np.float64)[:-1]
