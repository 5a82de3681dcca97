"""Sliding the outline along the leaf so that knots near the seam fall in the soundhole."""

from __future__ import annotations

import numpy as np

from seamlight.layout.body import ZONES
from seamlight.layout.judge import Half, Place
from seamlight.layout.opened import Way
from seamlight.layout.opening import Remedy
from seamlight.layout.refine import verdicts
from seamlight.photo.flat import Points


def into_soundhole(way: Way) -> list[Remedy]:
    """How far the outline would have to move so that every flaw now in the open is cut out with the hole."""
    domain = way.domain
    places = way.found.spot.places(domain)
    found = verdicts(domain, way.found.spot)
    low, high, any_open = -np.inf, np.inf, False
    for half, place, verdict in zip((domain.a, domain.b), places, found, strict=True):
        ranks = dict(verdict.zones)
        for flaw in half.side.flaws:
            if flaw.counts and ranks.get(flaw.index, 0) == len(ZONES) - 1:
                any_open = True
                first, last = _moves(half, place, flaw.points_mm)
                low, high = max(low, first), min(high, last)
    if not any_open or low > high:
        return []
    toward_tail = low if low > 0 else high
    if low <= 0 <= high:
        return []
    end = "tail" if toward_tail > 0 else "neck"
    room = min(getattr(v.room, f"{end}_spare_mm") for v in found)
    need, towards = abs(toward_tail), _end_name(way, end)
    enough = (
        f"the wood has {room:.0f} mm there beyond the end trim"
        if room >= need
        else f"{max(0.0, need - room):.0f} mm more wood would be needed there"
    )
    return [
        Remedy(
            "slide",
            f"slide the outline {need:.0f} mm along, toward {towards}: then the flaws in the open fall "
            f"in the soundhole; {enough}",
            (("along_mm", round(need, 1)), ("toward", towards), ("wood_there_mm", round(float(room), 1))),
        )
    ]


def _moves(half: Half, place: Place, points_mm: Points) -> tuple[float, float]:
    """Least and greatest move of the body toward its tail that puts all points in the soundhole."""
    uv = half.to_body(points_mm, place)
    uv = uv[uv[:, 0] >= 0]  # the rest is planed off
    zones = half.body.zones
    if not len(uv) or half.body.use == "back" or zones.soundhole_mm <= 0:
        return np.inf, -np.inf
    across = (zones.soundhole_mm / 2) ** 2 - uv[:, 0] ** 2
    if (across < 0).any():
        return np.inf, -np.inf
    reach = np.sqrt(across)
    # v - move lies within the hole: |v - move - middle| <= reach
    ahead = uv[:, 1] - zones.soundhole_y_mm
    return float((ahead - reach).max()), float((ahead + reach).min())


def _end_name(way: Way, end: str) -> str:
    """The end of leaf A that the body's neck or tail lies toward."""
    return f"end {way.neck_end if end == 'neck' else 3 - way.neck_end}"
