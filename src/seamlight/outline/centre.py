"""The centre line of a drawn shape, and its two halves about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

from seamlight.mistake import Mistake
from seamlight.outline.curve import Array
from seamlight.photo.flat import Points

_ONE_SIDE_MM = 0.5  # a half may reach this far over its own centre line
_LIKE_MM = 1.5  # halves whose middle difference is more are not mirrored
_HALF = "draw it symmetrical, or draw one half from centre line to centre line"


@dataclass(frozen=True, eq=False)
class Halves:
    """Edges of the halves from one end of the centre line to the other, x >= 0, first point (0, 0); mm.

    Right and left as seen in the drawing with the first end up. `left` is None for a drawn half.
    """

    right: Points
    left: Points | None
    how: str


def halves_of(points: Points, closed: bool, where: str) -> Halves:
    """The halves of a whole outline or of a drawn half.

    Args:
        points: (n, 2) mm, y down, not closed by a repeated point.
        closed: whether the last point joins the first.
        where: the file's name.

    Raises:
        Mistake: no centre line can be found.
    """
    if not closed:
        half = _about(points, points[0], points[-1])
        return Halves(_one_sided(half, where), None, "centre line through the two ends of the open half")
    straight = _straight_side(points)
    if straight is not None:
        half = _about(straight, straight[0], straight[-1])
        return Halves(_one_sided(half, where), None, "centre line along the straight side of the half")
    return _mirrored(points, where)


def _about(points: Points, start: Points, end: Points) -> Points:
    """Points turned and shifted so that start -> end runs along +y from (0, 0)."""
    way = (end - start) / np.hypot(*(end - start))
    across = np.array([way[1], -way[0]])
    return np.asarray((points - start) @ np.stack([across, way], axis=1), dtype=np.float64)


def _one_sided(half: Points, where: str) -> Points:
    half = half if abs(half[:, 0].max()) >= abs(half[:, 0].min()) else half * (-1.0, 1.0)
    if half[:, 0].min() < -_ONE_SIDE_MM:
        raise Mistake("the half crosses its own centre line", where=where, do=_HALF)
    half[:, 0] = np.maximum(half[:, 0], 0.0)
    half[[0, -1], 0] = 0.0
    return half


def _straight_side(ring: Points) -> Points | None:
    """The points of a half from one end of its straight side round to the other; None where it has none.

    The straight side must be as long as the whole shape along it.
    """
    plain = np.asarray(shapely.LinearRing(ring).simplify(0.02).coords)
    sides = np.diff(plain, axis=0)
    lengths = np.hypot(*sides.T)
    # the side may be drawn through the ring's own start: join the last and first where they are in line
    turn = sides[-1, 0] * sides[0, 1] - sides[-1, 1] * sides[0, 0]
    if abs(turn) < 1e-4 * lengths[-1] * lengths[0] and len(plain) > 4:
        return (
            _straight_side(np.roll(ring, len(ring) // 3, axis=0))
            if lengths[-1] + lengths[0] > lengths.max()
            else None
        )
    k = int(np.argmax(lengths))
    way = sides[k] / lengths[k]
    along, across = (ring - plain[k]) @ way, (ring - plain[k]) @ np.array([-way[1], way[0]])
    one_side = min(abs(across.min()), abs(across.max())) < _ONE_SIDE_MM
    if not one_side or np.ptp(along) > 1.005 * lengths[k]:
        return None
    first, last = (int(np.argmin(np.hypot(*(ring - end).T))) for end in (plain[k + 1], plain[k]))
    return np.roll(ring, -first, axis=0)[: (last - first) % len(ring) + 1]


def _dense(ring: Points, step_mm: float) -> Points:
    line = shapely.LinearRing(ring)
    at = np.linspace(0, line.length, max(int(line.length / step_mm), 16), endpoint=False)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(line, at)), dtype=np.float64)


class _Mirror:
    """How far the mirrored shape lies off the shape itself, for an axis at an angle and an offset."""

    def __init__(self, ring: Points) -> None:
        self.fine = _dense(ring, 0.25)
        self.some = self.fine[::12]
        self.middle = self.fine.mean(axis=0)
        way = np.roll(self.fine, -1, axis=0) - np.roll(self.fine, 1, axis=0)
        self.normal = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(*way.T)[:, None]
        self.tree = cKDTree(self.fine)

    def off(self, axis: Array) -> Array:
        """Signed distances mm of the mirrored points; axis: angle of its normal (rad), offset along it."""
        normal = np.array([np.cos(axis[0]), np.sin(axis[0])])
        over = (self.some - self.middle) @ normal - axis[1]
        mirrored = self.some - 2 * over[:, None] * normal
        _, near = self.tree.query(mirrored)
        return np.asarray(((mirrored - self.fine[near]) * self.normal[near]).sum(1), dtype=np.float64)

    def fit(self, angle: float) -> tuple[Array, float]:
        """The axis near an angle that mirrors most of the shape onto itself, and the middle distance left."""
        axis = np.array([angle, 0.0])
        for scale_mm in (10.0, 2.0, 0.3, 0.05):  # a cutaway counts less and less
            axis = least_squares(self.off, axis, loss="cauchy", f_scale=scale_mm, x_scale=(0.01, 1.0)).x
        return axis, float(np.median(np.abs(self.off(axis))))


def _mirrored(ring: Points, where: str) -> Halves:
    """Both halves of a whole outline about the axis that best mirrors it onto itself."""
    mirror = _Mirror(ring)
    spread = np.cov((mirror.fine - mirror.middle).T)
    long_way = np.linalg.eigh(spread)[1][:, 1]
    start = float(np.arctan2(-long_way[0], long_way[1]))
    (axis, left_over), (other, other_over) = mirror.fit(start), mirror.fit(start + np.pi / 2)
    if other_over < left_over:
        axis, left_over = other, other_over
    if left_over > _LIKE_MM:
        raise Mistake("no centre line: the two sides do not mirror each other", where=where, do=_HALF)
    normal = np.array([np.cos(axis[0]), np.sin(axis[0])])
    way = np.array([-normal[1], normal[0]])
    if way[1] < 0:  # the end that is up in the drawing comes first
        normal, way = -normal, -way
    turned = (ring - mirror.middle) @ np.stack([normal, way], axis=1) - (
        axis[1] * np.sign(normal @ [np.cos(axis[0]), np.sin(axis[0])]),
        0.0,
    )
    right, left = _cut(turned, where)
    return Halves(right, left, "centre line where the two sides mirror each other")


def _cut(ring: Points, where: str) -> tuple[Points, Points]:
    """A ring about x = 0 as its right and left edge from the upper crossing to the lower."""
    body = shapely.Polygon(ring)
    _, y0, _, y1 = body.bounds
    crossed = body.exterior.intersection(shapely.LineString([(0.0, y0 - 1), (0.0, y1 + 1)]))
    places = np.unique(np.round(shapely.get_coordinates(crossed)[:, 1], 6))
    if len(places) != 2:
        raise Mistake("the centre line meets the outline more than twice", where=where, do=_HALF)
    top, tail = places
    halves = []
    for sign in (1.0, -1.0):
        side = body.intersection(shapely.box(min(0.0, sign * 1e4), y0 - 1, max(0.0, sign * 1e4), y1 + 1))
        if side.geom_type != "Polygon":
            raise Mistake("the centre line meets the outline more than twice", where=where, do=_HALF)
        coords = np.asarray(side.exterior.coords[:-1], dtype=np.float64) * (sign, 1.0)
        first = int(np.argmin(np.hypot(coords[:, 0], coords[:, 1] - top)))
        coords = np.roll(coords, -first, axis=0)
        last = int(np.argmin(np.hypot(coords[:, 0], coords[:, 1] - tail)))
        edge = (
            coords[: last + 1]
            if last > len(coords) / 2
            else np.concatenate((coords[:1], coords[: last - 1 : -1]))
        )
        edge = edge - (0.0, top)
        edge[0], edge[-1] = (0.0, 0.0), (0.0, tail - top)
        halves.append(edge)
    return halves[0], halves[1]
