"""Which of a leaf's wood is sound: the silhouette less wane and less holes that open to its edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from seamlight.grain.flaw import Flaw
from seamlight.layout.pair import Leaf
from seamlight.mistake import Mistake
from seamlight.photo.flat import Points

COUNTS_FROM = 0.5  # a flaw less sure than this is mentioned and blocks nothing
_RIM_MM = 0.5  # a hole with less wood than this between it and the edge opens to the edge


@dataclass(frozen=True, eq=False)
class SoundWood:
    """Rings in the leaf's own frame, (n, 2) mm, not closed by a repeated point."""

    silhouette_mm: Points
    wood_mm: Points
    holes_mm: tuple[Points, ...]  # convex hulls of holes with wood all round
    missing: frozenset[int]  # flaws that were cut out of the wood, by index


def all_flaws(leaf: Leaf) -> tuple[Flaw, ...]:
    """The flaws of both faces: those of the photographed face first, then those of the other."""
    return leaf.flaws + leaf.other_flaws


def sound_wood(leaf: Leaf) -> SoundWood:
    """What is left of the silhouette.

    Raises:
        Mistake: the silhouette is no shape, or nothing of it is sound.
    """
    whole = _largest(_solid(leaf.outline_mm))
    wood = whole
    flaws = [(i, f) for i, f in enumerate(all_flaws(leaf)) if f.sure >= COUNTS_FROM]
    missing = {i for i, f in flaws if f.kind == "wane"}
    for _, flaw in ((i, f) for i, f in flaws if f.kind == "wane"):
        wood = wood.difference(_solid(flaw.outline_mm))
    holes: list[Points] = []
    for i, flaw in ((i, f) for i, f in flaws if f.kind == "hole"):
        hole = _solid(flaw.outline_mm)
        if hole.is_empty:
            continue
        if wood.buffer(-_RIM_MM).covers(hole):
            holes.append(_ring(hole.convex_hull))
        else:
            missing.add(i)
            wood = wood.difference(hole)
    wood = _largest(wood)
    holes += [_ring(shapely.Polygon(inside).convex_hull) for inside in wood.interiors]
    return SoundWood(_ring(whole), _ring(wood), tuple(holes), frozenset(missing))


def _solid(ring_mm: Points) -> shapely.Geometry:
    points = np.asarray(ring_mm, dtype=np.float64)
    if points.ndim != 2 or len(points) < 3:
        raise Mistake("an outline of fewer than three points", where="layout", do="draw it again")
    return shapely.make_valid(shapely.Polygon(points))


def _largest(shape: shapely.Geometry) -> shapely.Polygon:
    parts = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and not p.is_empty]
    if not parts:
        raise Mistake("no sound wood is left of a leaf", where="layout", do="look at its wane and holes")
    return max(parts, key=lambda part: part.area)


def _ring(polygon: shapely.Polygon) -> Points:
    return np.asarray(polygon.exterior.coords[:-1], dtype=np.float64)
