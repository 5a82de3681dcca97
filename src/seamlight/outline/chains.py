"""From loose lines to the one shape that is the outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from seamlight.mistake import Mistake
from seamlight.outline.drawing import Drawing, size_of
from seamlight.photo.flat import Points

_SNAP = 1e-4  # of the drawing's size: ends 0.05 mm apart on a body are one
_GAP = 4e-3  # ends up to 2 mm apart are joined, with a warning
_ANOTHER = (
    0.25  # of the largest shape's area: from here on a second shape is a question, below it is left out
)

_CLOSE = "join the ends so that the outline is one closed line, or one half from centre line to centre line"
_ALONE = "leave one outline in the file, or put it alone on a layer (SVG: give it the id) named outline"


@dataclass(frozen=True, eq=False)
class Shape:
    """The outline as drawn, in drawn units, y down."""

    points: Points  # (n, 2), not closed by a repeated point
    closed: bool
    warnings: tuple[str, ...]


def _snapped(lines: list[Points], reach: float) -> list[Points]:
    """The lines with ends that lie within `reach` of each other moved to one place; doubles left out."""
    ends = np.concatenate([line[[0, -1]] for line in lines])
    pairs = cKDTree(ends).query_pairs(reach, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(ends), len(ends)))
    count, group = connected_components(links, directed=False)
    middles = (
        np.stack([np.bincount(group, ends[:, k], count) for k in (0, 1)], axis=1)
        / np.bincount(group)[:, None]
    )
    kept: dict[tuple[int, int, int, int], Points] = {}
    for i, line in enumerate(lines):
        line = line.copy()
        line[0], line[-1] = middles[group[2 * i]], middles[group[2 * i + 1]]
        if shapely.LineString(line).length <= reach:
            continue
        half_way = shapely.line_interpolate_point(shapely.LineString(line), 0.5, normalized=True)
        a, b = sorted((int(group[2 * i]), int(group[2 * i + 1])))
        kept.setdefault((a, b, round(half_way.x / reach / 4), round(half_way.y / reach / 4)), line)
    return list(kept.values())


def _merged(lines: list[Points]) -> list[shapely.LineString]:
    joined = shapely.line_merge(shapely.MultiLineString(lines))
    return list(joined.geoms) if joined.geom_type == "MultiLineString" else [joined]


def _bridges(chains: list[shapely.LineString], reach: float) -> list[Points]:
    """Straight pieces between loose ends that lie within `reach`, nearest first, each end used once."""
    ends = np.array([chain.coords[k] for chain in chains if not chain.is_closed for k in (0, -1)])
    if not len(ends):
        return []
    pairs = cKDTree(ends).query_pairs(reach, output_type="ndarray")
    gaps = np.hypot(*(ends[pairs[:, 0]] - ends[pairs[:, 1]]).T)
    used: set[int] = set()
    found = []
    for a, b in pairs[np.argsort(gaps)]:
        if gaps.size and a not in used and b not in used and (ends[a] != ends[b]).any():
            used |= {a, b}
            found.append(ends[[a, b]])
    return found


def _check_crossing(chain: shapely.LineString, drawing: Drawing, where: str) -> None:
    if chain.is_simple:
        return
    coords = np.asarray(chain.coords)
    crossings = shapely.get_coordinates(shapely.node(chain))
    at, count = np.unique(crossings, axis=0, return_counts=True)
    known = cKDTree(coords).query(at)[0] > 1e-9
    places = at[known] if known.any() else at[count > 1]
    x, y = places[0] if len(places) else coords[0]
    shown = f"near x {x:.4g}, y {(-y if drawing.y_up else y):.4g} of the drawing"
    raise Mistake(f"the outline crosses itself {shown}", where=where, do="mend it there and save it again")


def find_shape(drawing: Drawing, where: str) -> Shape:
    """The one outline in a drawing: the largest closed shape, or a half drawn as one open line.

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
    warnings: list[str] = []
    chains = _merged(_snapped(list(drawing.lines), size * _SNAP))
    bridges = _bridges(chains, size * _GAP)
    if bridges:
        widest = max(float(np.hypot(*(b - a))) for a, b in bridges)
        warnings.append(f"{where}: {len(bridges)} gaps of up to {widest:.2g} units between lines were closed")
        chains = _merged([*(np.asarray(chain.coords) for chain in chains), *bridges])
    faces = shapely.polygonize(chains)
    union = shapely.unary_union(list(faces.geoms))
    bodies = [union] if union.geom_type == "Polygon" else list(getattr(union, "geoms", []))
    closed = sorted((body for body in bodies if body.area > 0), key=lambda body: -body.area)
    inside = closed[0].buffer(size * _GAP) if closed else None
    loose = [chain for chain in chains if not chain.is_ring and (inside is None or not inside.covers(chain))]
    for chain in chains:
        if chain.length > size / 2:
            _check_crossing(chain, drawing, where)
    loose.sort(key=lambda chain: -_reach(chain))
    if closed and (not loose or _reach(loose[0]) < 0.8 * _reach(closed[0].exterior)):
        return _closed_shape(closed, chains, warnings, where)
    return _open_shape(loose, size, warnings, where)


def _reach(line: shapely.LineString) -> float:
    x0, y0, x1, y1 = line.bounds
    return float(max(x1 - x0, y1 - y0))


def _closed_shape(
    closed: list[shapely.Polygon], chains: list[shapely.LineString], warnings: list[str], where: str
) -> Shape:
    large = [body for body in closed if body.area >= _ANOTHER * closed[0].area]
    if len(large) > 1:
        raise Mistake(f"several shapes: {len(large)} that could be the outline", where=where, do=_ALONE)
    ring = closed[0].exterior
    others = sum(1 for chain in chains if chain.distance(ring) > 0 or not ring.buffer(1e-9).intersects(chain))
    if others:
        warnings.append(f"{where}: {others} smaller shapes beside the outline were left out")
    return Shape(np.asarray(ring.coords[:-1], dtype=np.float64), True, tuple(warnings))


def _open_shape(loose: list[shapely.LineString], size: float, warnings: list[str], where: str) -> Shape:
    if not loose:
        raise Mistake("no closed shape", where=where, do=_CLOSE)
    points = np.asarray(loose[0].coords, dtype=np.float64)
    gap = float(np.hypot(*(points[-1] - points[0])))
    if gap < 0.8 * _reach(loose[0]):
        raise Mistake(f"no closed shape: its ends lie {gap:.4g} units apart", where=where, do=_CLOSE)
    if len(loose) > 1 and _reach(loose[1]) > _ANOTHER * _reach(loose[0]):
        raise Mistake(f"no closed shape: {len(loose)} lines that do not join", where=where, do=_CLOSE)
    if len(loose) > 1:
        warnings.append(f"{where}: {len(loose) - 1} smaller lines beside the outline were left out")
    return Shape(points, False, tuple(warnings))
