"""Lower-bout wings: how wide and long, and whether the wood beside the waist yields them."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, HalfBody
from seamlight.layout.opened import Way
from seamlight.layout.opening import LayoutSettings, Opening, Remedy, Short
from seamlight.layout.shortfall import room_by_strip

Array = NDArray[np.float64]
# Wood to true the glue edge and to saw round, and to run past the place: common practice, no source.
_WIDER_MM = 4.0
_LONGER_MM = 16.0
_ROUND_MM = 10.0
_MOST_WING_MM = 45.0

_TONE = (
    "glued by its straight outer edge it must be turned over or spun, and its runout then runs the other "
    "way, so it may show lighter or darker; to match the tone slide the same leaf's offcut down unturned "
    "and true its inner, curved side as the glue edge"
)


@dataclass(frozen=True)
class Offcut:
    """The wood beside the waist, beyond outline and trim."""

    widest_mm: float
    long_enough_mm: float  # over this length it is as wide as the wing
    slid_width_mm: float  # width left when its inner side is trued straight over the wing's length


def wings(way: Way, opening: Opening, settings: LayoutSettings) -> list[Remedy]:
    """Two wings, sized for the worse leaf; none where the leaf is short elsewhere than at the lower bout."""
    body = way.domain.a.body
    lacking = [s for s in opening.short if _at_lower_bout(s, body)]
    if not lacking or len(lacking) < len(opening.short):
        return []
    by = max(s.by_mm for s in lacking)
    if by > _MOST_WING_MM:
        return []
    reach = max(s.to_mm for s in lacking) - min(s.from_mm for s in lacking)
    width = ceil(by - 1e-6) + _WIDER_MM
    length = round((reach + 2 * _LONGER_MM) / _ROUND_MM) * _ROUND_MM
    offcuts = [
        offcut_of(room_by_strip(half, place), half.body, width, length)
        for half, place in zip((way.domain.a, way.domain.b), way.found.spot.places(way.domain), strict=True)
    ]
    least = min(offcuts, key=lambda o: o.slid_width_mm)
    return [
        Remedy(
            "lower-bout wings",
            f"two wings at least {width:.0f} mm wide and about {length:.0f} mm long at the lower bout; "
            f"{_source(least, width, length)}",
            (
                ("width_mm", float(width)),
                ("length_mm", float(length)),
                ("offcut_widest_mm", round(least.widest_mm, 1)),
                ("offcut_as_wide_over_mm", round(least.long_enough_mm, 1)),
                ("offcut_slid_width_mm", round(least.slid_width_mm, 1)),
            ),
        )
    ]


def offcut_of(room_mm: Array, body: HalfBody, width_mm: float, length_mm: float) -> Offcut:
    """The wood beside the waist, between the widest places of the two bouts.

    Args:
        room_mm: (n,) room beyond outline and trim by strip, as `room_by_strip` gives it.
        body: the half outline.
        width_mm, length_mm: the wing wanted.
    """
    upper, lower = bouts(body)
    room = np.minimum(np.maximum(room_mm[upper : lower + 1], 0.0), 1e3)
    wide = np.concatenate([[False], room >= width_mm, [False]]).astype(int)
    runs = np.flatnonzero(np.diff(wide)).reshape(-1, 2)
    longest = float(np.diff(runs, axis=1).max(initial=0)) * STRIP_MM
    count = round(length_mm / STRIP_MM)
    slid = 0.0
    if count <= len(room):
        slid = float(np.lib.stride_tricks.sliding_window_view(room, count).min(axis=1).max())
    return Offcut(float(room.max(initial=0.0)), longest, slid)


def bouts(body: HalfBody) -> tuple[int, int]:
    """Strips of the upper and lower bout's widest places; both the same where there is no waist."""
    width = body.strip_mm
    lower = int(np.argmax(width))
    depth = np.minimum(np.maximum.accumulate(width[: lower + 1]), width[lower]) - width[: lower + 1]
    waist = int(np.argmax(depth))
    upper = int(np.argmax(width[: waist + 1])) if depth[waist] > 0 else lower
    return upper, lower


def _at_lower_bout(short: Short, body: HalfBody) -> bool:
    upper, lower = bouts(body)
    waist = upper + int(np.argmin(body.strip_mm[upper : lower + 1]))
    return short.from_mm >= waist * STRIP_MM and short.to_mm <= body.length_mm


def _source(offcut: Offcut, width: float, length: float) -> str:
    if offcut.long_enough_mm < length:
        return (
            f"the offcut beside the waist is that wide over {offcut.long_enough_mm:.0f} mm only: take them "
            "from another leaf of the same log, grain running the same way"
        )
    said = (
        f"the offcut beside the waist yields them: up to {offcut.widest_mm:.0f} mm wide, {width:.0f} mm or "
        f"more over {offcut.long_enough_mm:.0f} mm; {_TONE}"
    )
    if offcut.slid_width_mm >= width:
        return f"{said}, which leaves {offcut.slid_width_mm:.1f} mm"
    return f"{said}, which leaves only {offcut.slid_width_mm:.1f} mm: not enough"
