"""Finds the flaws of one leaf: knots, pitch pockets, cracks, wane, holes, strong stain."""

from __future__ import annotations

import numpy as np
import shapely

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw, FlawKind
from seamlight.grain.flaws_join import LONG_KINDS, joined
from seamlight.grain.flaws_regions import Region, Rule, largest, length_and_width_mm, points_of, regions
from seamlight.grain.net import NET_KINDS, FlawMaps, likely_flaws
from seamlight.photo.flat import FlatLeaf

# Chosen on boards and rendered leaves held back from training (training/README.md).
RULES: dict[FlawKind, Rule] = {
    "knot": Rule(low=0.45, high=0.5, least_mm2=6.0),
    "pitch": Rule(low=0.4, high=0.7, least_mm2=6.0),
    "crack": Rule(low=0.35, high=0.65, least_mm2=4.0, least_length_mm=12.0, least_slender=4.0),
    "stain": Rule(low=0.45, high=0.7, least_mm2=60.0),
    "wane": Rule(low=0.4, high=0.9, least_mm2=15.0),
}
WANE_FROM_EDGE_MM = 4.0  # wane begins at the silhouette
# Rows of pores look like cracks. Most cracks run in from an end and are long or sure; one wholly inside must
# be both.
CRACK_FROM_EDGE_MM, CRACK_INSIDE_MM, CRACK_INSIDE_SURE = 2.0, 30.0, 0.9
CRACK_LONG_MM, CRACK_SHORT_SURE = 24.0, 0.8
HOLE_SURE = 0.95  # seen through, not judged by colour


def find_flaws(flat: FlatLeaf, field: GrainField | None) -> tuple[Flaw, ...]:
    """Every flaw found on a leaf, the surest first within each kind.

    Args:
        flat: the leaf cut out and laid flat at a known scale.
        field: its grain, or None; nothing here needs it yet and it may be left out.

    Returns:
        Flaws with outlines in the leaf frame (mm) inside the leaf's silhouette. Where outlines of different
        kinds cover one another by more than half, the surer kind stays.
    """
    if not flat.wood.any():
        return ()
    silhouette = shapely.make_valid(shapely.Polygon(flat.outline_mm))
    found = _from_network(likely_flaws(flat), silhouette)
    holes = [shapely.make_valid(shapely.Polygon(hole)) for hole in flat.holes_mm]
    flaws = [Flaw("hole", np.asarray(hole, dtype=np.float64), HOLE_SURE) for hole in flat.holes_mm]
    for kind, region in found:
        if not _mostly_covered(region.shape, holes):
            flaws.append(Flaw(kind, points_of(region.shape), round(region.sure, 3)))
    return tuple(flaws)


def _from_network(maps: FlawMaps, silhouette: shapely.Geometry) -> list[tuple[FlawKind, Region]]:
    """Regions of every kind inside the silhouette, the surer kind kept where two lie on one another.

    Pieces of one flaw in line along the grain are made one.
    """
    every: list[tuple[FlawKind, Region]] = []
    for kind, likely in zip(NET_KINDS, maps.likely, strict=True):
        for region in regions(likely, maps.px_per_mm, RULES[kind]):
            shape = largest(region.shape.intersection(silhouette))
            if shape is None or not _believed(kind, shape, region.sure, silhouette):
                continue
            every.append((kind, Region(shape, region.sure)))
    kept: list[tuple[FlawKind, Region]] = []
    for kind, region in sorted(every, key=lambda one: -one[1].sure):
        if not _mostly_covered(region.shape, [other.shape for _, other in kept]):
            kept.append((kind, region))
    found: list[tuple[FlawKind, Region]] = []
    for kind in NET_KINDS:
        of_kind = [region for other, region in kept if other == kind]
        whole = joined(of_kind, silhouette) if kind in LONG_KINDS else of_kind
        found += [(kind, region) for region in sorted(whole, key=lambda one: -one.sure)]
    return found


def _believed(kind: FlawKind, shape: shapely.Polygon, sure: float, silhouette: shapely.Geometry) -> bool:
    """What the place of a region says for or against its kind."""
    from_edge_mm = float(shape.distance(silhouette.boundary))
    if kind == "wane":
        return from_edge_mm < WANE_FROM_EDGE_MM
    if kind == "crack":
        length_mm, _ = length_and_width_mm(shape)
        if from_edge_mm > CRACK_FROM_EDGE_MM:
            return sure >= CRACK_INSIDE_SURE and length_mm >= CRACK_INSIDE_MM
        return sure >= CRACK_SHORT_SURE or length_mm >= CRACK_LONG_MM
    return True


def _mostly_covered(shape: shapely.Polygon, others: list[shapely.Polygon]) -> bool:
    return any(shape.intersection(other).area > 0.5 * shape.area for other in others)
