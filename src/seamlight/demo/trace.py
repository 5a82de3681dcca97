"""Outlines of flaws on a face, traced on the function that made them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.demo.leaf import SawnLeaf, Side
from seamlight.grain.flaw import Flaw, FlawKind
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Inside = Callable[[Array, Array], Array]  # below 1 inside, (x, y) in the leaf frame


def star(inside: Inside, x_mm: float, y_mm: float, reach_mm: float, points: int = 72) -> Points | None:
    """The border (value 1) around a place, by bisection along rays; None where the place is outside."""
    if float(inside(np.array([x_mm]), np.array([y_mm]))[0]) >= 1.0:
        return None
    turn = np.linspace(0, 2 * np.pi, points, endpoint=False)
    east, south = np.cos(turn), np.sin(turn)
    step = np.linspace(0.0, reach_mm, 400)
    # the first crossing outward on each ray, then bisect
    values = inside(x_mm + np.outer(step, east), y_mm + np.outer(step, south))
    first = np.argmax(values >= 1.0, axis=0)
    first = np.where((values >= 1.0).any(axis=0), first, len(step) - 1)
    low, high = step[np.maximum(first - 1, 0)], step[first]
    for _ in range(18):
        middle = (low + high) / 2
        out = inside(x_mm + middle * east, y_mm + middle * south) >= 1.0
        low, high = np.where(out, low, middle), np.where(out, middle, high)
    return np.column_stack([x_mm + low * east, y_mm + low * south])


def within(outline_mm: Points, silhouette: Points, least_mm2: float = 0.05) -> tuple[Points, ...]:
    """The parts of an outline that lie inside the silhouette."""
    leaf = shapely.make_valid(shapely.Polygon(silhouette))
    cut = shapely.make_valid(shapely.Polygon(outline_mm)).intersection(leaf)
    parts = [part for part in getattr(cut, "geoms", [cut]) if part.geom_type == "Polygon"]
    return tuple(
        np.asarray(part.exterior.coords, dtype=np.float64)[:-1] for part in parts if part.area > least_mm2
    )


def flaws_on(leaf: SawnLeaf, side: Side, silhouette: Points) -> tuple[Flaw, ...]:
    """Every flaw of the log that shows on this face, with its exact outline in the leaf frame."""
    found: list[tuple[FlawKind, Points | None]] = []
    for i, knot in enumerate(leaf.log.knots):
        found.append(("hole" if knot.kind == "fallen" else "knot", knot_outline(leaf, side, i)))
    found += [("pitch", pocket_outline(leaf, side, i)) for i in range(len(leaf.log.pockets))]
    found += [("stain", stain_outline(leaf, side, i)) for i in range(len(leaf.log.stains))]
    found += [("crack", check_outline(leaf, side, i)) for i in range(len(leaf.checks))]
    found += [("hole", hole) for hole in holes_on(leaf, side)]
    found.append(("wane", wane_outline(leaf, side)))
    return tuple(
        Flaw(kind, part, 1.0)
        for kind, line in found
        if line is not None
        for part in within(line, silhouette, 2.0 if kind == "wane" else 0.05)
    )


def knot_outline(leaf: SawnLeaf, side: Side, index: int) -> Points | None:
    """Where a branch crosses the face: the section of its cone."""
    knot = leaf.log.knots[index]
    middle = _knot_middle(leaf, side, index)
    if middle is None:
        return None

    def inside(x: Array, y: Array) -> Array:
        return knot.polar(*leaf.log_points(side, x, y))[0]

    return star(inside, *middle, reach_mm=12.0 * knot.radius_mm)


def _knot_middle(leaf: SawnLeaf, side: Side, index: int) -> tuple[float, float] | None:
    """Where the axis meets the face: v in the log changes with the lean of the cut, so search along it."""
    knot = leaf.log.knots[index]
    depth = leaf.depth_mm(side)
    t = 0.0
    for _ in range(8):
        place = knot.at + t * knot.along
        lean = np.radians(leaf.cut_deg)
        miss = -place[0] * np.sin(lean) + place[1] * np.cos(lean) - depth
        rate = -knot.along[0] * np.sin(lean) + knot.along[1] * np.cos(lean)
        if abs(rate) < 1e-3:
            return None
        t -= miss / rate
    place = knot.at + t * knot.along
    u, z = leaf.from_log(place[0], place[2], np.array(depth))
    x, y = leaf.from_billet(side, u, z)
    return float(x), float(y)


def pocket_outline(leaf: SawnLeaf, side: Side, index: int) -> Points | None:
    """A pitch pocket's lens on the face: two arcs about a ring line."""
    pocket = leaf.log.pockets[index]
    u, z = leaf.from_log(np.array(pocket.u_mm), np.array(pocket.z_mm), np.array(leaf.depth_mm(side)))
    x, y = leaf.from_billet(side, u, z)
    reach = pocket.half_length_mm * float(
        np.sqrt(max(0.0, 1 - (leaf.depth_mm(side) / pocket.half_depth_mm) ** 2))
    )
    if reach < 0.5:
        return None
    along = float(y) + np.linspace(-reach, reach, 41)
    # the ring of the pocket at this depth, found from the nearest place on the face
    start = np.full_like(along, float(x))
    line = _level(leaf, side, pocket.ring_mm, start, along)
    depth, down = leaf.log_points(side, line, along)[1:]
    half = pocket.half_width_mm * np.clip(
        1 - ((down - pocket.z_mm) / pocket.half_length_mm) ** 2 - (depth / pocket.half_depth_mm) ** 2, 0, 1
    )
    half = half / np.maximum(np.abs(leaf.slope(side, line, along)[0]), 0.2)
    return np.vstack([np.column_stack([line - half, along]), np.column_stack([line + half, along])[::-1]])


def _level(leaf: SawnLeaf, side: Side, ring_mm: float, x: Array, y: Array) -> Array:
    """x where the ring radius is `ring_mm` at each y, by Newton's rule."""
    for _ in range(12):
        in_x = leaf.slope(side, x, y)[0]
        safe = np.where(np.abs(in_x) < 0.1, np.copysign(0.1, in_x), in_x)
        x = x - np.clip((leaf.radius(side, x, y) - ring_mm) / safe, -5.0, 5.0)
    return x


def stain_outline(leaf: SawnLeaf, side: Side, index: int) -> Points | None:
    """A stain's half-strength line on the face."""
    stain = leaf.log.stains[index]
    u, z = leaf.from_log(np.array(stain.u_mm), np.array(stain.z_mm), np.array(leaf.depth_mm(side)))
    x, y = leaf.from_billet(side, u, z)

    def inside(x: Array, y: Array) -> Array:
        return stain.inside(*leaf.log_points(side, x, y))

    return star(inside, float(x), float(y), reach_mm=1.6 * stain.half_length_mm)


def check_outline(leaf: SawnLeaf, side: Side, index: int) -> Points:
    """A crack from an end: through the leaf, the same on both faces."""
    check = leaf.checks[index]
    left = leaf.from_billet(side, check.u_mm - check.half_mm, check.z_mm)
    right = leaf.from_billet(side, check.u_mm + check.half_mm, check.z_mm)
    return np.vstack([np.column_stack(left), np.column_stack(right)[::-1]])


def holes_on(leaf: SawnLeaf, side: Side) -> tuple[Points, ...]:
    """Worm and nail holes, mirrored for the other face."""
    if side == "sawn":
        return leaf.holes_mm
    return tuple(np.column_stack([leaf.width_mm - hole[:, 0], hole[:, 1]]) for hole in leaf.holes_mm)


def wane_outline(leaf: SawnLeaf, side: Side) -> Points | None:
    """The strip outside the log's bark: from the ring line of the bark to beyond the edge."""
    if leaf.log.bark_mm > 1e5:
        return None
    y = np.linspace(-2.0, leaf.length_mm + 2.0, 240)
    x = np.full_like(y, leaf.width_mm / 2)
    for _ in range(14):
        across, depth, along = leaf.log_points(side, x, y)
        miss = leaf.log.clear_radius(across, depth, along) - leaf.log.bark(along)
        in_x = leaf.slope(side, x, y)[0]
        x = x - miss / np.where(np.abs(in_x) < 0.3, np.copysign(0.3, in_x), in_x)
    outward = 1.0 if float(leaf.slope(side, x, y)[0].mean()) > 0 else -1.0
    edge = leaf.width_mm + 3.0 if outward > 0 else -3.0
    line = np.clip(x, -3.0, leaf.width_mm + 3.0)
    return np.vstack([np.column_stack([line, y]), [[edge, y[-1]], [edge, y[0]]]])
