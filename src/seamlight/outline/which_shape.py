"""Which of a drawing's shapes is the outline: not the paper's border, the centre line or a dimension."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from seamlight.mistake import Mistake
from seamlight.outline.chains import GAP, bridged, chains_of
from seamlight.outline.drawing import Drawing, size_of
from seamlight.photo.flat import Points

_STRAIGHT = 1e-3  # of its length: a line that bends less is an axis, a border or a dimension
_LONG = 0.25  # of the drawing's size: a straight line that ends freely and is longer may be an axis
_BOX = 0.97  # of the smallest rectangle around it: a shape that fills more is a border or a block
_ANOTHER = 0.25  # of the outline's area: from here on a second shape beside it is a question
_SAME_LINE = 0.8  # of the outline's area: a shape inside it that is larger runs along it
_BY_FAR = 2.0  # an open line is the outline only where it reaches so many times as far as any closed shape

_CLOSE = "join the ends so that the outline is one closed line, or one half from centre line to centre line"
_ALONE = "leave one outline in the file, or put it alone on a layer (SVG: give it the id) named outline"


@dataclass(frozen=True, eq=False)
class Shape:
    """The outline as drawn, in drawn units, y down."""

    points: Points  # (n, 2), not closed by a repeated point
    closed: bool
    warnings: tuple[str, ...]


def find_shape(drawing: Drawing, where: str) -> Shape:
    """The one outline in a drawing: the largest closed shape, or a half drawn as one open line.

    Straight lines (an axis, dimensions) and boxes (the paper's border, a block) are passed over.

    Raises:
        Mistake: nothing is drawn, nothing closes, the outline crosses itself, or there are several.
    """
    if not drawing.lines:
        raise Mistake(
            "no lines are drawn in it", where=where, do="draw the outline as lines, arcs, splines or paths"
        )
    size = size_of(drawing.lines)
    if not size > 0:
        raise Mistake("no closed shape", where=where, do=_CLOSE)
    chains = chains_of(drawing.lines, size)
    without_axes = [chain for chain in chains if chain.length < _LONG * size or not _is_straight(chain)]
    try:
        return _found(without_axes, drawing, size, where)
    except Mistake as first:
        if len(without_axes) == len(chains):
            raise
        try:
            return _found(chains, drawing, size, where)
        except Mistake:
            raise first from None


def _found(chains: list[shapely.LineString], drawing: Drawing, size: float, where: str) -> Shape:
    chains, widest, gaps = bridged(chains, size)
    told = [f"{where}: {gaps} gaps of up to {widest:.2g} units between lines were closed"] if gaps else []
    bent = [chain for chain in chains if not _is_straight(chain)]
    closed = _bodies(bent)
    reach = max([_reach(body.exterior) for body in closed], default=0.0)
    for chain in bent:
        if _reach(chain) > max(reach, size / 2) / 2:
            _check_crossing(chain, drawing, where)
    inside = closed[0].buffer(_reach(closed[0].exterior) * GAP) if closed else None
    loose = [chain for chain in bent if not chain.is_ring and (inside is None or not inside.covers(chain))]
    loose.sort(key=lambda chain: -_reach(chain))
    if closed and (not loose or _reach(loose[0]) < _BY_FAR * _reach(closed[0].exterior)):
        return _closed_shape(closed, bent, drawing.unit_mm, told, where)
    return _open_shape(loose, told, where)


def _bodies(chains: list[shapely.LineString]) -> list[shapely.Polygon]:
    """What chains that meet end to end enclose together, largest first; boxes only if all are boxes."""
    open_ones = [chain for chain in chains if not chain.is_closed]
    groups = [[chain] for chain in chains if chain.is_closed]
    if open_ones:
        ends = np.array([chain.coords[k] for chain in open_ones for k in (0, -1)])
        _, place = np.unique(ends, axis=0, return_inverse=True)
        first, last = place.reshape(-1, 2).T
        links = coo_array((np.ones(len(first)), (first, last)), shape=(place.max() + 1, place.max() + 1))
        count, group = connected_components(links, directed=False)
        groups += [
            [chain for chain, own in zip(open_ones, group[first], strict=True) if own == k]
            for k in range(count)
        ]
    found: list[shapely.Polygon] = []
    for together in groups:
        union = shapely.unary_union(list(shapely.polygonize(together).geoms))
        found += [union] if union.geom_type == "Polygon" else list(getattr(union, "geoms", []))
    found = sorted((body for body in found if body.area > 0), key=lambda body: -body.area)
    return [body for body in found if not _is_box(body)] or found


def _is_straight(chain: shapely.LineString) -> bool:
    points = np.asarray(chain.coords)
    along = points[-1] - points[0]
    length = float(np.hypot(*along))
    across = (points - points[0]) @ (-along[1], along[0])
    return length > 0 and float(np.abs(across).max()) <= _STRAIGHT * length**2


def _is_box(body: shapely.Polygon) -> bool:
    return bool(body.area >= _BOX * shapely.minimum_rotated_rectangle(body).area)


def _check_crossing(chain: shapely.LineString, drawing: Drawing, where: str) -> None:
    if chain.is_simple:
        return
    coords = np.asarray(chain.coords)
    crossings = shapely.get_coordinates(shapely.node(chain))
    at, count = np.unique(crossings, axis=0, return_counts=True)
    known = cKDTree(coords).query(at)[0] > 1e-9
    places = at[known] if known.any() else at[count > 1]
    x, y = (places[0] if len(places) else coords[0]) * (drawing.unit_mm or 1.0)
    unit = " mm" if drawing.unit_mm else ""
    shown = f"near x {x:.4g}, y {(-y if drawing.y_up else y):.4g}{unit} of the drawing"
    raise Mistake(f"the outline crosses itself {shown}", where=where, do="mend it there and save it again")


def _reach(line: shapely.LineString) -> float:
    x0, y0, x1, y1 = line.bounds
    return float(max(x1 - x0, y1 - y0))


def _closed_shape(
    closed: list[shapely.Polygon],
    chains: list[shapely.LineString],
    unit_mm: float | None,
    told: list[str],
    where: str,
) -> Shape:
    outer, *rest = closed
    beside = [body for body in rest if not outer.covers(body) and body.area >= _ANOTHER * outer.area]
    if beside:
        raise Mistake(f"several shapes: {1 + len(beside)} that could be the outline", where=where, do=_ALONE)
    ring = outer.exterior
    along = [body for body in rest if body.area >= _SAME_LINE * outer.area]
    if along:
        apart = (outer.area - along[0].area) / along[0].length * (unit_mm or 1.0)
        unit = "mm" if unit_mm else "units"
        told.append(
            f"{where}: a second line runs some {apart:.2g} {unit} inside the outline; the outer one was"
            f" taken; if another is meant: {_ALONE}"
        )
    others = sum(1 for chain in chains if chain.distance(ring) > 0) - len(along)
    if others > 0:
        told.append(f"{where}: {others} smaller shapes beside the outline were left out")
    return Shape(np.asarray(ring.coords[:-1], dtype=np.float64), True, tuple(told))


def _open_shape(loose: list[shapely.LineString], told: list[str], where: str) -> Shape:
    if not loose:
        raise Mistake("no closed shape", where=where, do=_CLOSE)
    points = np.asarray(loose[0].coords, dtype=np.float64)
    gap = float(np.hypot(*(points[-1] - points[0])))
    if gap < 0.8 * _reach(loose[0]):
        raise Mistake(f"no closed shape: its ends lie {gap:.4g} units apart", where=where, do=_CLOSE)
    if len(loose) > 1 and _reach(loose[1]) > _ANOTHER * _reach(loose[0]):
        raise Mistake(f"no closed shape: {len(loose)} lines that do not join", where=where, do=_CLOSE)
    if len(loose) > 1:
        told.append(f"{where}: {len(loose) - 1} smaller lines beside the outline were left out")
    return Shape(points, False, tuple(told))
