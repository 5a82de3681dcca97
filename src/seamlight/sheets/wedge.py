"""The line to saw on a leaf's outer edge for a rig that drives wedges against it.

Such a rig holds the pair between two fixed boards parallel to the joint; a wedge driven between board and
leaf presses the joint shut. It bears along its whole length when the leaf's edge slopes by the wedge's own
angle (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from seamlight.photo.flat import Mask, Points
from seamlight.sheets.halves import Half

INSIDE_MM = 1.0  # the least that is sawn off where the edge is a true line


@dataclass(frozen=True)
class WedgeLine:
    """A straight line beside one half: its distance from the joint line at both ends of the outline."""

    at_neck_mm: float
    at_tail_mm: float
    spare_mm: float  # how far it clears the outline, its trim and the wing stock; below 0: it does not
    gaps: tuple[tuple[float, float], ...]  # where it leaves sound wood, along the body from the neck end

    def points(self, length_mm: float, beyond_mm: float = 0.0) -> Points:
        """The line's two ends in the half, `beyond_mm` past both ends of the outline."""
        slope = (self.at_tail_mm - self.at_neck_mm) / length_mm
        y = np.array([-beyond_mm, length_mm + beyond_mm])
        return np.column_stack([self.at_neck_mm + slope * y, y])

    def possible(self, length_mm: float) -> bool:
        """On sound wood along more than half of the body: a wedge has something to bear on."""
        return sum(b - a for a, b in self.gaps) < length_mm / 2

    @property
    def good(self) -> bool:
        """Clear of what is needed and on sound wood all along."""
        return self.spare_mm >= 0 and not self.gaps


def wedge_lines(
    pair: tuple[Half, Half], needed: tuple[BaseGeometry, BaseGeometry], angle_deg: float, end_trim_mm: float
) -> tuple[WedgeLine, WedgeLine]:
    """The line to saw on each leaf, both narrowing toward the same end.

    Args:
        pair: both leaves.
        needed: what each line must clear: the outline with its trim, and any wing stock.
        angle_deg: of the rig's wedges, between the line and the joint line.
        end_trim_mm: how far beyond the outline's ends the line must still run on wood.

    The line is the outermost that runs on sound wood all along; where that one cuts into what is needed, the
    innermost that clears it, with the stretches where the wood does not reach it.
    """
    found = []
    for toward_neck in (1.0, -1.0):
        slope = float(np.tan(np.radians(angle_deg))) * toward_neck
        found.append(tuple(_line(h, n, slope, end_trim_mm) for h, n in zip(pair, needed, strict=True)))
    best = max(found, key=lambda lines: (sum(x.good for x in lines), min(x.spare_mm for x in lines)))
    return best[0], best[1]


def _line(half: Half, needed: BaseGeometry, slope: float, end_trim_mm: float) -> WedgeLine:
    length = float(half.edge_mm[-1, 1])
    x, y = np.asarray(needed.convex_hull.exterior.coords).T
    innermost = float(np.max(x - slope * y))
    stations = np.linspace(-end_trim_mm, length + end_trim_mm, 240)
    edge = _edge(half.sound(), stations)
    outermost = float(np.min(edge - slope * stations)) - INSIDE_MM
    spare = outermost - innermost
    at = max(outermost, innermost)
    gaps = () if spare >= 0 else _runs(stations, edge < at + slope * stations)
    return WedgeLine(at, at + slope * length, spare * float(np.cos(np.arctan(slope))), gaps)


def _edge(sound: BaseGeometry, stations: Points) -> Points:
    """How far out sound wood lies at each y, (n,); 0 where there is none."""
    reach = np.zeros(len(stations))
    for i, y in enumerate(stations):
        crossing = sound.intersection(LineString([(0.0, float(y)), (1e4, float(y))]))
        reach[i] = 0.0 if crossing.is_empty else crossing.bounds[2]
    return reach


def _runs(stations: Points, bad: Mask) -> tuple[tuple[float, float], ...]:
    """From and to of each run of bad places, within the body."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(int)))
    return tuple(
        (float(stations[a]), float(stations[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)
    )
