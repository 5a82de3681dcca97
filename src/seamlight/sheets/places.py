"""Where tape may cross the joint, and where a label finds waste to lie on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from seamlight.sheets.halves import Half

STRIPS = 5  # cross strips on a taped joint: common practice, no source
TAPE_WIDE_MM = 25.0
TAPE_REACH_MM = 60.0  # on each leaf
CLEAR_MM = 4.0  # from tape to flaw: tape lifts loose wood
LABEL_RADIUS_MM = 8.0  # the least circle of waste that is worth writing on


@dataclass(frozen=True)
class LabelPlace:
    """The middle of the largest waste beside the outline, from the joint line and from the neck end."""

    out_mm: float
    from_neck_mm: float
    radius_mm: float
    beside: str


def tape_places(pair: tuple[Half, Half], end_trim_mm: float) -> tuple[float, ...]:
    """Places along the joint, from the neck end of the outline, where tape lies on sound wood of both leaves.

    Each of `STRIPS` even places is moved to the nearest sound one; one that finds none within half the
    distance to its neighbour is left out.
    """
    top = max(float(h.wood.bounds[1]) for h in pair)
    bottom = min(float(h.wood.bounds[3]) for h in pair)
    first, last = top + end_trim_mm + TAPE_WIDE_MM, bottom - end_trim_mm - TAPE_WIDE_MM
    wanted = np.linspace(first, last, STRIPS)
    reach = (last - first) / (STRIPS - 1) / 2
    bad = unary_union([area for h in pair for _, area in h.flaws])
    found = []
    for y in wanted:
        tries = sorted(np.arange(-reach, reach, 2.0), key=abs)
        place = next(
            (y + t for t in tries if first <= y + t <= last and _tape_is_sound(bad, float(y + t))), None
        )
        if place is not None:
            found.append(float(place))
    return tuple(found)


def _tape_is_sound(bad: BaseGeometry, y_mm: float) -> bool:
    half = TAPE_WIDE_MM / 2 + CLEAR_MM
    return not bad.intersects(box(0, y_mm - half, TAPE_REACH_MM + CLEAR_MM, y_mm + half))


def label_place(half: Half, taken: BaseGeometry) -> LabelPlace | None:
    """The largest circle of sound waste on one leaf that clears what is needed; None where all is narrow.

    Args:
        half: the leaf.
        taken: the outline with its trim, any wing stock, and all beyond the line to saw for wedges.
    """
    free = half.sound().difference(taken).intersection(box(0, -1e4, 1e4, 1e4))
    pieces = [p for p in getattr(free, "geoms", [free]) if p.area > 0]
    circles = [shapely.maximum_inscribed_circle(p, tolerance=0.5) for p in pieces]
    if not circles or max(c.length for c in circles) < LABEL_RADIUS_MM:
        return None
    radius = max(circles, key=lambda c: float(c.length))
    x, y = radius.coords[0]
    return LabelPlace(float(x), float(y), float(radius.length), _beside(half, float(y)))


def _beside(half: Half, y_mm: float) -> str:
    """Which part of the body a place lies beside."""
    length = float(half.edge_mm[-1, 1])
    if y_mm < 0.1 * length:
        return "beside the shoulder"
    if y_mm > 0.9 * length:
        return "beside the tail"
    return "beside the waist" if 0.25 * length < y_mm < 0.55 * length else "beside the body"
