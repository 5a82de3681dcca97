"""What is measured on an outline."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points
from seamlight.units import likely_slip

Array = NDArray[np.float64]
Side = Literal["left", "right"]
ZoneName = Literal["soundhole", "bridge", "fingerboard", "edge"]

# Plausible guitar bodies, children's sizes to baritones: common practice, no source.
LENGTH_RANGE_MM = (300.0, 650.0)
LOWER_BOUT_RANGE_MM = (180.0, 520.0)


class Widths(NamedTuple):
    """Full widths across the body, mm."""

    upper_bout_mm: float
    waist_mm: float
    lower_bout_mm: float


class Waist(NamedTuple):
    """Where the three widths lie, y from the neck end in mm; `depth_mm` 0 where there is no waist."""

    upper_at_mm: float
    waist_at_mm: float
    lower_at_mm: float
    depth_mm: float


def side_edge(outline: Outline, side: Side = "right") -> Points:
    """(n, 2) edge of one half, neck end to tail end, x >= 0."""
    if side == "left" and outline.left_half_mm is not None:
        return outline.left_half_mm
    return outline.half_mm


def half_width_at(outline: Outline, y_mm: Array, side: Side = "right") -> Array:
    """Half width at each y, mm: the greatest where a horn makes more than one; 0 beyond the ends.

    Args:
        outline: the plan shape.
        y_mm: (n,) places along the body from the neck end.
        side: which half, seen from the front with the neck up.
    """
    edge = side_edge(outline, side)
    y = np.atleast_1d(np.asarray(y_mm, dtype=np.float64))
    widest = np.zeros(len(y))
    way = np.sign(np.diff(edge[:, 1]))
    turns = np.flatnonzero(np.diff(way)) + 1  # runs along which y only grows, only falls or stands still
    for start, stop in zip(np.concatenate(([0], turns)), np.append(turns, len(way)), strict=True):
        run = edge[start : stop + 1]
        if way[start] == 0:
            on = y == run[0, 1]
            widest[on] = np.maximum(widest[on], run[:, 0].max())
            continue
        run = run if way[start] > 0 else run[::-1]
        inside = (y >= run[0, 1]) & (y <= run[-1, 1])
        widest[inside] = np.maximum(widest[inside], np.interp(y[inside], run[:, 1], run[:, 0]))
    return widest


def polygon(outline: Outline) -> Points:
    """(n, 2) ring of the whole body in the body frame, not closed by a repeated point."""
    left = side_edge(outline, "left")[-2:0:-1] * (-1.0, 1.0)
    return np.concatenate((side_edge(outline), left))


def _width_profile(outline: Outline) -> tuple[Array, Array]:
    """y and twice the wider half at every vertex height: a cutaway takes no bout away."""
    right, left = side_edge(outline), side_edge(outline, "left")
    y = np.unique(np.concatenate((right[:, 1], left[:, 1])))
    wider = half_width_at(outline, y)
    if outline.left_half_mm is not None:
        wider = np.maximum(wider, half_width_at(outline, y, "left"))
    return y, 2 * wider


def waist_of(outline: Outline) -> Waist:
    """Where the waist lies: the deepest narrowing between two bouts; else a third of the length."""
    y, width = _width_profile(outline)
    before = np.maximum.accumulate(width)
    after = np.maximum.accumulate(width[::-1])[::-1]
    depth = np.minimum(before, after) - width
    at = int(np.argmax(depth))
    if depth[at] < 0.5:
        third = outline.length_mm / 3
        return Waist(third, third, float(y[np.argmax(width)]), 0.0)
    upper, lower = int(np.argmax(width[:at])), at + int(np.argmax(width[at:]))
    return Waist(float(y[upper]), float(y[at]), float(y[lower]), float(depth[at]))


def widths(outline: Outline) -> Widths:
    """Upper bout, waist and lower bout: twice the wider half, so that a cutaway takes no bout away.

    Where there is no waist, upper bout and waist are both the width at a third of the length.
    """
    waist = waist_of(outline)
    places = np.array(waist[:3])
    wider = np.maximum(half_width_at(outline, places), half_width_at(outline, places, "left"))
    return Widths(*(float(2 * half) for half in wider))


def half_perimeter_mm(outline: Outline, side: Side = "right") -> float:
    """Length of one half's edge from the centre line at the neck end to the centre line at the tail, mm."""
    return float(np.hypot(*np.diff(side_edge(outline, side), axis=0).T).sum())


def area_m2(outline: Outline) -> float:
    """Plan area of the body, m2."""
    return float(shapely.Polygon(polygon(outline)).area) / 1e6


def zone_polygons(outline: Outline) -> dict[ZoneName, Points]:
    """(n, 2) ring of each zone the outline has, in the body frame, not closed by a repeated point.

    `edge` is the inner border of the edge band: the band lies between it and `polygon(outline)`.
    """
    z = outline.zones
    found: dict[ZoneName, Points] = {}
    if z.soundhole_mm > 0:
        turn = np.linspace(0, 2 * np.pi, 180, endpoint=False)
        found["soundhole"] = z.soundhole_mm / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1) + (
            0,
            z.soundhole_y_mm,
        )
    if z.bridge_width_mm > 0 and z.bridge_length_mm > 0:
        found["bridge"] = _box(z.bridge_width_mm / 2, z.bridge_y_mm, z.bridge_length_mm)
    if z.fingerboard_half_width_mm > 0 and z.fingerboard_end_mm > 0:
        found["fingerboard"] = _box(
            z.fingerboard_half_width_mm, z.fingerboard_end_mm / 2, z.fingerboard_end_mm
        )
    if z.edge_band_mm > 0:
        inner = shapely.Polygon(polygon(outline)).buffer(-z.edge_band_mm)
        if inner.geom_type == "MultiPolygon":
            inner = max(inner.geoms, key=lambda part: part.area)
        if not inner.is_empty:
            found["edge"] = np.asarray(inner.exterior.coords[:-1], dtype=np.float64)
    return found


def _box(half_width: float, y_mid: float, length: float) -> Points:
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return np.asarray(corners * (half_width, length / 2) + (0.0, y_mid), dtype=np.float64)


def scale_check(outline: Outline, where: str = "") -> None:
    """Stops an outline that is no guitar's size.

    Raises:
        Mistake: length or lower bout is not plausible; says what it may have been meant for.
    """
    for what, length_mm, (low, high) in (
        ("length", outline.length_mm, LENGTH_RANGE_MM),
        ("lower bout", widths(outline).lower_bout_mm, LOWER_BOUT_RANGE_MM),
    ):
        slip = likely_slip(length_mm, low, high)
        if slip is not None:
            raise Mistake(
                f"no guitar's {what}: {slip}",
                where=where or outline.name,
                do="check the unit it was drawn in",
            )
