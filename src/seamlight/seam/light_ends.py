"""Where the joint begins and ends in the picture, and whether the lamp is seen beyond it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.seam.light_follow import Strip

Floats = NDArray[np.float64]
Point = tuple[float, float]
Points = tuple[Point, Point]
NeckAt = Literal["left", "top", "right", "bottom"]  # of the picture

_LAMP_AT_LEAST = 0.03  # of full light
_NEAR_PX = 20.0  # from a click to the leaf's end


@dataclass(frozen=True)
class Ends:
    """The joint along a strip, from its first column's side; the lamp's light beyond each end."""

    from_px: float
    to_px: float
    lamp: tuple[float | None, float | None]  # light there, None where the lamp is not seen
    by: tuple[str, str]  # "lamp", "light" or "click"


def find_ends(strip: Strip, lit_px: tuple[float, float] | None, name: str, clicks: Points | None) -> Ends:
    """Both ends, by the lamp beyond them, by a person's two clicks, or by where the seam's light stops.

    Args:
        lit_px: the stretch of the strip in which the line of light was found; None for a dark joint.

    Raises:
        Mistake: an end is outside the picture, or nothing shows where it is.
    """
    flank, s = strip.flank, strip.s_px
    middle = (s[0] + s[-1]) / 2 if lit_px is None else (lit_px[0] + lit_px[1]) / 2
    if clicks is not None:
        places = sorted(_nearest(strip, click) for click in clicks)
        middle = (places[0] + places[1]) / 2
    start, stop = (_edge(s, flank, middle, way) for way in (-1, 1))
    lamp = (None if start is None else start[1], None if stop is None else stop[1])
    if clicks is not None:
        if places[1] - places[0] < 50:
            raise Mistake("the two ends are the same place", where=name, do="mark the joint's two ends")
        found = [_snapped(*one) for one in zip(places, (start, stop), (-1, 1), strict=True)]
        return Ends(found[0], found[1], lamp, ("click", "click"))
    if lit_px is None and (start is None or stop is None):
        raise Mistake(
            "no seam: no light shows between the leaves, nor the lamp beyond both ends of the joint",
            where=name,
            do="have the lamp reach beyond both ends, or stand shims at the ends",
        )
    ends = [None if edge is None else edge[0] for edge in (start, stop)]
    by = ["lamp" if end is not None else "light" for end in ends]
    if lit_px is not None:
        margin = 6.0
        for i, (place, border) in enumerate(zip(lit_px, (s[0], s[-1]), strict=True)):
            if ends[i] is None and abs(place - border) < margin:
                raise Mistake(
                    "the joint runs out of the picture", where=name, do="have both ends of it in the picture"
                )
            if ends[i] is None:
                ends[i] = place
    low, high = ends
    assert low is not None
    assert high is not None
    return Ends(low, high, lamp, (by[0], by[1]))


def _snapped(place: float, edge: tuple[float, float] | None, way: int) -> float:
    """A clicked end; the leaf's own where the click lies near it or on the lamp: no finger is so exact."""
    if edge is not None and (abs(place - edge[0]) < _NEAR_PX or (place - edge[0]) * way > 0):
        return edge[0]
    return place


def _edge(s: Floats, flank: Floats, middle: float, way: int) -> tuple[float, float] | None:
    """Going from the middle to one border: where dark wood turns into lamp, and how bright the lamp is."""
    start = int(np.searchsorted(s, middle))
    walk = np.arange(start, len(s)) if way > 0 else np.arange(min(start, len(s) - 1), -1, -1)
    seen = flank[walk]
    lamp = float(np.quantile(flank, 0.995))
    dark = float(np.median(seen[: max(len(seen) * 3 // 4, 1)]))
    if lamp < max(_LAMP_AT_LEAST, 4 * dark):
        return None
    rough = np.flatnonzero(seen > (dark + lamp) / 2)
    if rough.size == 0 or rough[0] == 0 or len(seen) - rough[0] < 4:
        return None
    beyond = float(np.median(seen[rough[0] + 2 : rough[0] + 60]))
    half = (dark + beyond) / 2
    over = int(np.flatnonzero(seen > half)[0])
    if over == 0:
        return None
    part = (half - seen[over - 1]) / max(seen[over] - seen[over - 1], 1e-9)
    return float(s[walk[over - 1]] + part * (s[walk[over]] - s[walk[over - 1]])), beyond


def _nearest(strip: Strip, click: tuple[float, float]) -> float:
    """How far along the strip a clicked place lies."""
    return float(strip.s_px[np.argmin(np.linalg.norm(strip.at_px - np.array(click), axis=1))])
