"""Pieces of one flaw that lie in line along the grain, put together.

A band of stain, a pitch streak or a crack may fade for a short way; what is left of it in line is still one
flaw. Knots stay as they are, and so does wane: the edge between two pieces of it is sound.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from seamlight.grain.flaw import FlawKind
from seamlight.grain.flaws_regions import Region, largest

LONG_KINDS: tuple[FlawKind, ...] = ("pitch", "crack", "stain")
# On leaves held back from training (seeds 300 to 450) pieces of one flaw lay 5 mm apart (pitch) or 11 mm
# (wane), the nearest two flaws in line 39 mm (wane); 290 mm of the kinds joined here.
MOST_GAP_MM = 20.0
LEAST_IN_LINE = 0.5  # of the narrower piece's width lies over the other's
OVERLAP_MM = 1.0  # of the bridge on either piece


def joined(pieces: Sequence[Region], silhouette: shapely.Geometry) -> list[Region]:
    """Regions of one kind, those in line with a short gap between them made one, within the silhouette."""
    left = sorted(pieces, key=lambda piece: float(piece.shape.bounds[1]))
    done = []
    while left:
        one = left.pop(0)
        mate = next((k for k, other in enumerate(left) if _in_line(one, other)), None)
        whole = None if mate is None else _bridged(one, left[mate], silhouette)
        if mate is None or whole is None:
            done.append(one)
        else:
            left[mate] = whole
    return done


def _gap_mm(one: Region, other: Region) -> tuple[float, float]:
    """Where along the grain the gap between two regions begins and ends; they overlap where it ends first."""
    (_, top, _, bottom), (_, other_top, _, other_bottom) = one.shape.bounds, other.shape.bounds
    return float(min(bottom, other_bottom)), float(max(top, other_top))


def _in_line(one: Region, other: Region) -> bool:
    begins, ends = _gap_mm(one, other)
    (left, _, right, _), (other_left, _, other_right, _) = one.shape.bounds, other.shape.bounds
    shared = min(right, other_right) - max(left, other_left)
    narrower = min(right - left, other_right - other_left)
    return 0.0 <= ends - begins <= MOST_GAP_MM and shared >= LEAST_IN_LINE * narrower


def _bridged(one: Region, other: Region, silhouette: shapely.Geometry) -> Region | None:
    """Both with the band between their facing ends; None where the leaf's edge parts them."""
    begins, ends = _gap_mm(one, other)
    strip = shapely.box(-1e6, begins - OVERLAP_MM, 1e6, ends + OVERLAP_MM)
    facing = [part.shape.intersection(strip) for part in (one, other)]
    bridge = shapely.union_all(facing).convex_hull.intersection(silhouette)
    shape = shapely.union_all([one.shape, other.shape, bridge])
    if shape.geom_type != "Polygon":
        return None
    area = one.shape.area + other.shape.area
    sure = (one.sure * one.shape.area + other.sure * other.shape.area) / area
    whole = largest(shape)
    return None if whole is None else Region(whole, float(sure))
