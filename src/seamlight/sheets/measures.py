"""The measures that set the joint line and the outline out on a leaf with rule and square.

Everything starts from edges that are there before planing: a straight-edge laid against the joint-side long
edge, and one laid across end 1. Where they cross is the corner that lengths along the edge are counted from.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPoint

from seamlight.layout.opening import Edge, LeafPlacing
from seamlight.outline.measure import half_width_at, waist_of
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points
from seamlight.sheets.pose import LeafPose
from seamlight.units import MM_PER_INCH, Unit

# How far from the ends the joint line is set out: far apart, yet on wood.
STATION_MM = {"mm": 20.0, "inch": MM_PER_INCH}
STEP_MM = {"mm": 10.0, "inch": MM_PER_INCH}  # round figures to measure to


@dataclass(frozen=True, eq=False)
class Datum:
    """The straight-edge against one long edge: where lengths start and which way they count, leaf frame."""

    side: Edge
    corner_mm: Points  # (2,) where it crosses the straight-edge across end 1
    along: Points  # (2,) unit, toward end 2
    inward: Points  # (2,) unit, square to it, toward the other long edge
    length_mm: float  # to the straight-edge across end 2

    def place(self, along_mm: float, in_mm: float) -> Points:
        """(2,) the place `along_mm` from end 1 and `in_mm` in from the edge, in the leaf frame."""
        return np.asarray(self.corner_mm + along_mm * self.along + in_mm * self.inward)

    def read(self, point_mm: Points) -> tuple[float, float]:
        """A place's distance along the edge from end 1 and square in from the edge."""
        away = np.asarray(point_mm) - self.corner_mm
        return float(away @ self.along), float(away @ self.inward)


@dataclass(frozen=True)
class Station:
    """The joint line at one place of the edge: from end 1, from the joint-side edge, from the other edge."""

    along_mm: float
    in_mm: float
    from_other_mm: float


@dataclass(frozen=True)
class Bout:
    """A half width of the outline, square to the joint line, and its distance from the neck end along it."""

    name: str
    from_neck_mm: float
    half_mm: float


@dataclass(frozen=True)
class Planing:
    """Wood to plane off the joint-side edge."""

    end1_mm: float
    end2_mm: float
    most_mm: float


@dataclass(frozen=True, eq=False)
class LeafMeasures:
    """All that is set out on one leaf as it lies, photographed face up, end 1 away from the maker."""

    datum: Datum
    neck_end: int  # the end that the neck lies toward
    stations: tuple[Station, Station]
    neck_along_mm: float  # the outline's two ends on the joint line, squared from the edge
    tail_along_mm: float
    bouts: tuple[Bout, ...]
    planing: Planing


def measure_leaf(
    leaf_outline_mm: Points, placing: LeafPlacing, pose: LeafPose, outline: Outline, units: Unit = "mm"
) -> LeafMeasures:
    """The measures of one leaf.

    Args:
        leaf_outline_mm: the leaf's silhouette, (n, 2) mm in its own frame.
        placing: the joint line and outline on this leaf.
        pose: how the leaf lies in the body frame.
        outline: the plan shape in the body frame.
        units: what the maker's rule shows, so that the joint line is set out at round figures.
    """
    datum = datum_of(leaf_outline_mm, pose.joint_side)
    other = datum_of(leaf_outline_mm, "left" if pose.joint_side == "right" else "right")
    near, step = STATION_MM[units], STEP_MM[units]
    far = np.floor((datum.length_mm - near + 0.5) / step) * step
    stations = (
        _station(datum, other, placing.joint_line_mm, near),
        _station(datum, other, placing.joint_line_mm, float(far)),
    )
    ends = pose.to_leaf(np.array([[0.0, 0.0], [0.0, outline.length_mm]]))
    return LeafMeasures(
        datum,
        pose.neck_end,
        stations,
        datum.read(ends[0])[0],
        datum.read(ends[1])[0],
        bouts(outline, pose.half),
        Planing(placing.planing_end1_mm, placing.planing_end2_mm, placing.planing_most_mm),
    )


def datum_of(leaf_outline_mm: Points, side: Edge) -> Datum:
    """The straight-edge against a long edge, with the corner it makes at end 1."""
    toward_out = np.array([-1.0, 0.0]) if side == "left" else np.array([1.0, 0.0])
    start, end = straight_edge(leaf_outline_mm, toward_out)
    along = (end - start) if end[1] > start[1] else (start - end)
    along = along / np.linalg.norm(along)
    corners = [
        _cross(start, along, *_line(straight_edge(leaf_outline_mm, np.array([0.0, up]))))
        for up in (-1.0, 1.0)
    ]
    square = np.array([-along[1], along[0]])
    inward = square if square @ toward_out < 0 else -square
    return Datum(side, corners[0], along, inward, float((corners[1] - corners[0]) @ along))


def straight_edge(leaf_outline_mm: Points, outward: Points) -> tuple[Points, Points]:
    """The two points that a straight-edge laid against one side of a leaf touches.

    That is the longest edge of the convex hull that faces within 20 degrees of `outward`.
    """
    ring = np.asarray(MultiPoint(np.asarray(leaf_outline_mm)).convex_hull.exterior.coords)
    run = np.diff(ring, axis=0)
    long = np.hypot(run[:, 0], run[:, 1])
    middle = ring[:-1] + run / 2 - ring[:-1].mean(axis=0)
    normal = np.column_stack([run[:, 1], -run[:, 0]]) / long[:, None]
    normal *= np.sign(np.sum(normal * middle, axis=1))[:, None]
    facing = normal @ outward > np.cos(np.radians(20.0))
    best = int(np.argmax(np.where(facing, long, -1.0)))
    return ring[best], ring[best + 1]


def _line(ends: tuple[Points, Points]) -> tuple[Points, Points]:
    return ends[0], (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])


def _cross(p: Points, u: Points, q: Points, v: Points) -> Points:
    """Where the line through p along u meets the line through q along v."""
    s, _ = np.linalg.solve(np.column_stack([u, -v]), q - p)
    return np.asarray(p + s * u)


def _station(datum: Datum, other: Datum, joint_line_mm: Points, along_mm: float) -> Station:
    foot = datum.place(along_mm, 0.0)
    on_joint = _cross(foot, datum.inward, *_line((joint_line_mm[0], joint_line_mm[1])))
    on_other = _cross(foot, datum.inward, other.corner_mm, other.along)
    in_mm = float((on_joint - foot) @ datum.inward)
    return Station(along_mm, in_mm, float((on_other - foot) @ datum.inward) - in_mm)


def bouts(outline: Outline, half: Edge) -> tuple[Bout, ...]:
    """Half widths at upper bout, waist and lower bout; the lower bout alone where there is no waist."""
    waist = waist_of(outline)
    places = [("lower bout", waist.lower_at_mm)]
    if waist.depth_mm > 0:
        places = [("upper bout", waist.upper_at_mm), ("waist", waist.waist_at_mm), *places]
    return tuple(Bout(name, y, float(half_width_at(outline, np.array([y]), half)[0])) for name, y in places)
