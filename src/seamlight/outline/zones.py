"""Where on a body a flaw is hidden or cut away. Every figure here is common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from seamlight.outline.measures import Measures
from seamlight.outline.shape import Outline, Zones

_EDGE_BAND_MM = 6.0  # binding and purfling take 2.5 to 6 mm
BRIDGE_ALONG_MM, BRIDGE_ACROSS_MM = 32.0, 165.0  # of 25..38 by 150..180
PLATE_MARGIN_MM = 10.0  # the bridge plate is about 10 mm larger all round
_STEEL_COMPENSATION_MM, _NYLON_COMPENSATION_MM = 3.0, 2.0


def saddle_at_mm(scale_mm: float, body_joint: int, compensation_mm: float) -> float:
    """Distance from the neck end to the saddle, mm.

    >>> round(saddle_at_mm(645.16, 14, 0.0), 1)
    287.4
    """
    # equal temperament: fret n stops the string at scale * 2^(-n/12) from the saddle
    return float(scale_mm * 2 ** (-body_joint / 12) + compensation_mm)


def compensation_mm(strings: Literal["steel", "nylon"]) -> float:
    """How far behind the scale length the middle of the saddle lies, mm."""
    return _NYLON_COMPENSATION_MM if strings == "nylon" else _STEEL_COMPENSATION_MM


def with_plate_mm(
    along_mm: float, across_mm: float, margin_mm: float = PLATE_MARGIN_MM
) -> tuple[float, float]:
    """Length and width that a bridge and the plate under it take."""
    return along_mm + 2 * margin_mm, across_mm + 2 * margin_mm


def zones_of(m: Measures) -> Zones:
    """The zones of a top with these measures."""
    twelve = m.body_joint == 12
    along, across = with_plate_mm(BRIDGE_ALONG_MM, BRIDGE_ACROSS_MM)
    return Zones(
        soundhole_y_mm=160.0 if twelve else 150.0,
        soundhole_mm=100.0,
        bridge_y_mm=saddle_at_mm(m.scale_mm, m.body_joint, compensation_mm(m.strings)),
        bridge_length_mm=along,
        bridge_width_mm=across,
        fingerboard_half_width_mm=29.0 if m.strings == "nylon" else 28.0,
        fingerboard_end_mm=105.0 if twelve else 95.0,
        edge_band_mm=_EDGE_BAND_MM,
    )


def for_back(outline: Outline) -> Outline:
    """The plan shape of the back, as seen from outside: no soundhole, bridge or fingerboard zone.

    Seen from behind, the halves of a body with a cutaway change places.
    """
    bare = replace(
        outline.zones,
        soundhole_mm=0.0,
        bridge_length_mm=0.0,
        bridge_width_mm=0.0,
        fingerboard_half_width_mm=0.0,
        fingerboard_end_mm=0.0,
    )
    if outline.left_half_mm is None:
        return replace(outline, zones=bare)
    return replace(outline, zones=bare, half_mm=outline.left_half_mm, left_half_mm=outline.half_mm)
