"""The leaf's outline: tapered long edges, rough ends, chipped corners."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.photo.flat import Points

Array = NDArray[np.float64]


def blank(
    dice: np.random.Generator,
    length_mm: float,
    width_end1_mm: float,
    width_end2_mm: float,
    rough_mm: float,
    chips: int,
) -> Points:
    """(n, 2) outline in a frame with y down the bisector of the long edges and the wider end's left at x = 0.

    `rough_mm` is about how far the saw wandered across an end; each chip takes a corner.
    """
    wide = max(width_end1_mm, width_end2_mm)
    left1, left2 = (wide - width_end1_mm) / 2, (wide - width_end2_mm) / 2
    wood = shapely.Polygon([(left1, 0), (wide - left1, 0), (wide - left2, length_mm), (left2, length_mm)])
    if rough_mm > 0:
        top, bottom = (_wander(dice, wide, rough_mm) for _ in range(2))
        wood = wood.difference(shapely.Polygon([*top, (wide + 9, -9), (-9, -9)]))
        low = [(x, length_mm - depth) for x, depth in bottom]
        wood = wood.difference(shapely.Polygon([*low, (wide + 9, length_mm + 9), (-9, length_mm + 9)]))
    corners = ((left1, 0.0), (wide - left1, 0.0), (wide - left2, length_mm), (left2, length_mm))
    for corner in dice.permutation(4)[: min(chips, 4)]:
        wood = wood.difference(_chip(dice, *corners[corner], wide / 2, length_mm / 2))
    largest = max(getattr(wood, "geoms", [wood]), key=lambda part: part.area)
    return np.asarray(shapely.geometry.polygon.orient(largest).exterior.coords, dtype=np.float64)[:-1]


def _wander(dice: np.random.Generator, wide: float, rough_mm: float) -> list[tuple[float, float]]:
    """Points along an end: x and the depth in from the end, at least 0 everywhere."""
    x = np.linspace(-3.0, wide + 3.0, 80)
    depth = np.interp(x, np.linspace(x[0], x[-1], 7), dice.standard_normal(7))
    depth = rough_mm * (0.6 * depth + 0.2 * dice.standard_normal(len(x)))
    return list(zip(x.tolist(), (depth - depth.min()).tolist(), strict=True))


def _chip(dice: np.random.Generator, x: float, y: float, middle_x: float, middle_y: float) -> shapely.Polygon:
    """What breaks off a corner: longer along the grain than across."""
    across = float(dice.uniform(4.0, 9.0)) * float(np.sign(middle_x - x))
    along = float(dice.uniform(8.0, 18.0)) * float(np.sign(middle_y - y))
    steps = np.linspace(0.0, 1.0, 9)
    jag = 0.06 * dice.standard_normal(9) * np.sin(np.pi * steps)
    line = np.column_stack([x + across * (steps + jag), y + along * (1.0 - steps + jag)])
    beyond = (x - 2 * across, y - 2 * along)
    return shapely.Polygon(
        [(x - 2 * across, line[0, 1]), *line.tolist(), (line[-1, 0], y - 2 * along), beyond]
    ).buffer(0)
