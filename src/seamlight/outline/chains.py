"""From loose lines to chains: ends brought together, doubles left out, small gaps closed."""

from __future__ import annotations

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from seamlight.photo.flat import Points

_SNAP = 1e-4  # of the drawing's size: ends 0.05 mm apart on a body are one
GAP = 4e-3  # ends up to 2 mm apart are joined, with a warning


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


def chains_of(lines: tuple[Points, ...], size: float) -> list[shapely.LineString]:
    """Lines, each (n, 2), joined where their ends meet to a ten-thousandth of the drawing's size."""
    return _merged(_snapped(list(lines), size * _SNAP))


def bridged(chains: list[shapely.LineString], size: float) -> tuple[list[shapely.LineString], float, int]:
    """Chains with small gaps between their ends closed: the chains, the widest gap, how many."""
    bridges = _bridges(chains, size * GAP)
    if not bridges:
        return chains, 0.0, 0
    widest = max(float(np.hypot(*(b - a))) for a, b in bridges)
    return _merged([*(np.asarray(chain.coords) for chain in chains), *bridges]), widest, len(bridges)
