"""One leaf of an opened pair as an area beside the joint: x outward from it, y toward the tail."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from seamlight.grain.flaw import Flaw
from seamlight.layout.opening import Layout, Opening
from seamlight.layout.pair import Leaf
from seamlight.outline.measure import half_width_at, side_edge
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points
from seamlight.sheets.pose import LeafPose, poses

# Wood that is not there, or will not hold: neither outline, label, tape nor wedge can count on it
UNSOUND = ("wane", "hole", "crack", "knot", "pitch")


@dataclass(frozen=True, eq=False)
class Half:
    """A leaf seen from the joint, mm: x outward (below 0: planed away), y from the outline's neck end."""

    leaf: str  # "a" | "b"
    pose: LeafPose
    wood: Polygon  # silhouette
    flaws: tuple[tuple[Flaw, Polygon], ...]
    body: Outline
    outline: Polygon
    edge_mm: Points  # the outline's own edge, (n, 2)
    photographed: int = 0  # so many flaws lie on the face of the leaf's own picture, the rest on its other

    def to_leaf(self, points_mm: Points) -> Points:
        """(n, 2) mm of this half -> (n, 2) mm in the leaf frame."""
        return self.pose.to_leaf(np.asarray(points_mm) * (self._sign, 1.0))

    def from_leaf(self, points_mm: Points) -> Points:
        """(n, 2) mm in the leaf frame -> (n, 2) mm of this half."""
        return np.asarray(self.pose.to_body(points_mm) * (self._sign, 1.0))

    @property
    def _sign(self) -> float:
        return 1.0 if self.pose.half == "right" else -1.0

    def sound(self) -> BaseGeometry:
        """The wood that can be counted on."""
        bad = [area for flaw, area in self.flaws if flaw.kind in UNSOUND]
        return self.wood.difference(unary_union(bad)) if bad else self.wood

    def rooms(self, trim_mm: float) -> tuple[Points, Points]:
        """Room square to the joint line from the outline to the edge of the wood, less trim: y and room.

        (n,) each. The edge is where the wood that reaches outward from the joint line ends; wane and holes
        are no wood.
        """
        gone = [area for flaw, area in self.flaws if flaw.kind in ("wane", "hole")]
        wood = self.wood.difference(unary_union(gone)) if gone else self.wood
        y = np.linspace(0.0, self.edge_mm[-1, 1], 256)[1:-1]
        reach = np.array([_reach(wood, float(v)) for v in y])
        return y, reach - self.width_at(y) - trim_mm

    def width_at(self, y_mm: Points) -> Points:
        """The outline's half width at each y, (n,) mm."""
        return half_width_at(self.body, y_mm, self.pose.half)


def _reach(wood: BaseGeometry, y: float) -> float:
    """How far wood reaches outward from the joint line at y without a break; 0 where there is none."""
    crossing = wood.intersection(LineString([(-1e3, y), (1e3, y)]))
    for piece in getattr(crossing, "geoms", [crossing]):
        if piece.is_empty:
            continue
        x0, _, x1, _ = piece.bounds
        if x0 <= 1e-6 and x1 > 0:
            return float(x1)
    return 0.0


def halves(layout: Layout, opening: Opening) -> tuple[Half, Half]:
    """Both leaves of an opening, A first; flaws of the face that shows come with those of the other face."""
    pose_a, pose_b = poses(opening, layout.outline)
    return _half("a", layout, layout.a, pose_a), _half("b", layout, layout.b, pose_b)


def _half(name: str, layout: Layout, leaf: Leaf, pose: LeafPose) -> Half:
    edge = side_edge(layout.outline, pose.half)
    empty = Half(name, pose, Polygon(), (), layout.outline, polygon(edge), edge)
    flaws = tuple((f, polygon(empty.from_leaf(f.outline_mm))) for f in (*leaf.flaws, *leaf.other_flaws))
    wood = polygon(empty.from_leaf(leaf.outline_mm))
    return Half(name, pose, wood, flaws, layout.outline, empty.outline, edge, len(leaf.flaws))


def polygon(points: Points) -> Polygon:
    """A valid area from a ring of points; the largest piece where it falls apart."""
    area = shapely.make_valid(Polygon(points))
    pieces = [g for g in getattr(area, "geoms", [area]) if isinstance(g, Polygon | MultiPolygon)]
    flat = [p for g in pieces for p in getattr(g, "geoms", [g])]
    return max(flat, key=lambda p: float(p.area), default=Polygon())


def least_room(pair: tuple[Half, Half], trim_mm: float) -> tuple[Half, float, float]:
    """Where the room beside the outline is least: the half, y, and the room there."""
    found = []
    for half in pair:
        y, room = half.rooms(trim_mm)
        at = int(np.argmin(room))
        found.append((half, float(y[at]), float(room[at])))
    return min(found, key=lambda f: f[2])
