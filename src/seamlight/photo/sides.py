"""The straight lines of a leaf: its two long edges and its two ends, and the leaf frame they make."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points
from seamlight.photo.ring import outward_normals

Array = NDArray[np.float64]

_FACING = 0.85  # cosine: how nearly a point of the ring must face a side to count as of it
_LEAST_SHARE = 0.15  # of the leaf's length: a shorter side is none
_TRIES = 200
_VOTERS = 150  # points of a side that judge each try
_TOUCHING = 0.95  # of the points of a rough end lie below a rule that touches it


@dataclass(frozen=True)
class SideLine:
    """A side as across = at + slope * along, in a frame where the leaf's long edges run along."""

    at: float
    slope: float
    doubt: float  # standard error of its slope

    def across(self, along: float) -> float:
        """Where it stands at a place along."""
        return self.at + self.slope * along


@dataclass(frozen=True)
class Sides:
    """Lines of the sides; None where the picture cuts that side off or there is no straight line in it."""

    left: SideLine | None  # x as a function of y
    right: SideLine | None
    end1: SideLine | None  # y as a function of x
    end2: SideLine | None


def sides_of(ring: Points, on_border: NDArray[np.bool_], reach: float, *, ends: bool = True) -> Sides:
    """Lines fitted to the four sides of a ring whose long edges run nearly along y.

    What lies off the straight line by more than about `reach` (chips, wane that eats into the edge) is left
    out.

    Args:
        ring: (n, 2) evenly spaced.
        on_border: (n,) True where the ring is the picture's border and not the leaf's edge.
        reach: departure from straight that still counts, in the ring's unit.
        ends: False leaves out the two ends.
    """
    normal = outward_normals(ring, 3.0)
    low, high = ring.min(axis=0), ring.max(axis=0)
    inset = 0.02 * (high - low)
    sound = ~on_border

    def side(axis: int, sign: float) -> SideLine | None:
        other = 1 - axis
        inner = (ring[:, other] > low[other] + inset[other]) & (ring[:, other] < high[other] - inset[other])
        of_it = sound & inner & (sign * normal[:, axis] > _FACING)
        points = ring[of_it]
        if len(points) < 8 or np.ptp(points[:, other]) < _LEAST_SHARE * (high - low)[other]:
            return None
        return _steady_line(points[:, other], points[:, axis], reach)

    left, right = side(0, -1.0), side(0, 1.0)
    return Sides(left, right, side(1, -1.0), side(1, 1.0)) if ends else Sides(left, right, None, None)


def rule_ends(ring: Points, sides: Sides) -> Sides:
    """The same with the lines of the ends moved out to where a rule laid against a rough end would touch."""

    def moved(end: SideLine | None, sign: float) -> SideLine | None:
        if end is None:
            return None
        off = sign * (ring[:, 1] - end.at - end.slope * ring[:, 0])
        near = off[np.abs(off) < 0.02 * np.ptp(ring[:, 1])]
        return replace(end, at=end.at + sign * float(np.quantile(near, _TOUCHING))) if len(near) else end

    return replace(sides, end1=moved(sides.end1, -1.0), end2=moved(sides.end2, 1.0))


def _steady_line(along: Array, across: Array, reach: float) -> SideLine:
    """The line that most points agree with.

    Many lines through two points each, the one with the least sum of capped squares kept (P. Torr, A.
    Zisserman, MLESAC, 2000), then least squares with Tukey's weights.
    """
    dice = np.random.default_rng(3)
    pairs = dice.integers(0, len(along), (_TRIES, 2))
    run = along[pairs[:, 1]] - along[pairs[:, 0]]
    far = np.abs(run) > 0.25 * np.ptp(along)
    pairs, run = pairs[far], run[far]
    slope = (across[pairs[:, 1]] - across[pairs[:, 0]]) / run
    start = across[pairs[:, 0]] - slope * along[pairs[:, 0]]
    few = slice(None, None, max(len(along) // _VOTERS, 1))
    off = np.abs(across[None, few] - start[:, None] - slope[:, None] * along[None, few])
    best = int(np.argmin(np.sum(np.minimum(off, reach) ** 2, axis=1))) if len(run) else -1
    a, b = (float(start[best]), float(slope[best])) if best >= 0 else (float(np.median(across)), 0.0)
    doubt = 0.0
    for _ in range(6):
        miss = across - a - b * along
        weight = np.clip(1 - (miss / (2 * reach)) ** 2, 0, None) ** 2
        if weight.sum() < 4:
            break
        total = float(weight.sum())
        middle = float(weight @ along) / total
        away = along - middle
        spread = max(float(weight @ away**2) / total, 1e-9)
        b = float(weight @ (away * across)) / total / spread
        a = float(weight @ across) / total - b * middle
        noise = float(weight @ (across - a - b * along) ** 2) / total
        doubt = float(np.sqrt(noise / (spread * max(total / 20, 1))))
    return SideLine(a, b, doubt)


def bisector(sides: Sides) -> float | None:
    """Lean of the bisector of the long edges to +x as y grows, rad; of the one edge where one is cut off."""
    slopes = [np.arctan(side.slope) for side in (sides.left, sides.right) if side is not None]
    return float(np.mean(slopes)) if slopes else None


def corners_of(sides: Sides) -> Points | None:
    """(4, 2) where the sides meet, clockwise from end 1 left; None where a side is missing."""
    if sides.left is None or sides.right is None or sides.end1 is None or sides.end2 is None:
        return None

    def meet(side: SideLine, end: SideLine) -> tuple[float, float]:
        # x = a + b y, y = c + d x
        x = (side.at + side.slope * end.at) / (1 - side.slope * end.slope)
        return x, end.at + end.slope * x

    return np.array(
        [
            meet(sides.left, sides.end1),
            meet(sides.right, sides.end1),
            meet(sides.right, sides.end2),
            meet(sides.left, sides.end2),
        ]
    )


def turned(points: Points, angle: float) -> Points:
    """Points turned so that a line leaning by `angle` to +x as y grows comes to stand along y."""
    return np.asarray(points @ leaning(angle).T)


def leaning(angle: float) -> Array:
    """(2, 2) turn that brings (sin, cos) of the angle to (0, 1)."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array([[cos, -sin], [sin, cos]])
