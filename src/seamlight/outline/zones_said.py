"""The zones a maker writes down, over those that are taken where nothing is said."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal, cast

from seamlight.mistake import Mistake
from seamlight.outline.fields import Fields
from seamlight.outline.shape import Zones
from seamlight.outline.zones import (
    BRIDGE_ACROSS_MM,
    BRIDGE_ALONG_MM,
    PLATE_MARGIN_MM,
    compensation_mm,
    saddle_at_mm,
    with_plate_mm,
)

_SCALE = ("scale length", "body frets", "strings", "compensation")
FIELDS = (
    "soundhole diameter",
    "soundhole from neck end",
    "bridge from neck end",
    *_SCALE,
    "bridge along grain",
    "bridge across grain",
    "bridge plate margin",
    "fingerboard half width",
    "fingerboard end from neck end",
    "edge band",
)


def said_zones(given: Any, taken: Zones, length_mm: float, where: str) -> tuple[Zones, tuple[str, ...]]:
    """Zones as a maker says them, and the names of those about which nothing is said.

    Args:
        given: the JSON object; see docs/outlines.md.
        taken: the zones where nothing is said.
        length_mm: of the body.
        where: the file.

    Raises:
        Mistake: a field is unknown or absurd, a zone lies off the body, or two contradict each other.
    """
    fields = Fields(given, FIELDS, f"{where}: zones")
    zones, untold = taken, []
    hole, at = (
        _no_or_mm(fields, "soundhole diameter", 60, 130),
        fields.length_mm("soundhole from neck end", 60, 300),
    )
    zones = _with(zones, soundhole_mm=hole, soundhole_y_mm=at)
    if at is None and hole != 0:
        untold.append("soundhole")
    bridge_at = _bridge_at(fields)
    zones = _with(zones, bridge_y_mm=bridge_at, **_bridge_size(fields))
    if bridge_at is None:
        untold.append("bridge")
    half, end = (
        fields.length_mm("fingerboard half width", 18, 45),
        _no_or_mm(fields, "fingerboard end from neck end", 20, 220),
    )
    zones = _with(zones, fingerboard_half_width_mm=half, fingerboard_end_mm=end)
    if end is None:
        untold.append("fingerboard")
    band = _no_or_mm(fields, "edge band", 1, 25)
    zones = _with(zones, edge_band_mm=band)
    if band is None:
        untold.append("edge band")
    _check_order(zones, length_mm, fields.where)
    return zones, tuple(untold)


def _with(zones: Zones, **said: float | None) -> Zones:
    return replace(zones, **{name: mm for name, mm in said.items() if mm is not None})


def _no_or_mm(fields: Fields, name: str, low_mm: float, high_mm: float) -> float | None:
    """A length; 0 says that there is none."""
    raw = fields.raw(name)
    if raw == 0 and not isinstance(raw, bool):
        return 0.0
    return fields.length_mm(name, low_mm, high_mm)


def _bridge_at(fields: Fields) -> float | None:
    """y of the saddle line, which is taken for the middle of the bridge."""
    at = fields.length_mm("bridge from neck end", 150, 500)
    scale_mm = fields.length_mm("scale length", 400, 800)
    frets = fields.number("body frets", 10, 16)
    strings = cast(Literal["steel", "nylon"], fields.word("strings", ("steel", "nylon")) or "steel")
    more = fields.length_mm("compensation", 0, 10)
    named = fields.first_of(_SCALE)
    if at is not None and named is not None:
        raise Mistake(
            f"'bridge from neck end' and {named!r} both say where the bridge lies",
            where=fields.where,
            do="leave one of them",
        )
    if named is None:
        return at
    if scale_mm is None or frets is None:
        missing = "scale length" if scale_mm is None else "body frets"
        raise Mistake(
            f"{named!r} is given without {missing!r}",
            where=fields.where,
            do="give both, the saddle is computed from them",
        )
    if frets != int(frets):
        raise Mistake(f"{frets:g} is no fret", where=f"{fields.where}: body frets", do="write 12 or 14")
    return saddle_at_mm(scale_mm, int(frets), compensation_mm(strings) if more is None else more)


def _bridge_size(fields: Fields) -> dict[str, float | None]:
    along = fields.length_mm("bridge along grain", 15, 60)
    across = fields.length_mm("bridge across grain", 80, 260)
    margin = fields.length_mm("bridge plate margin", 0, 40)
    if along is None and across is None and margin is None:
        return {}
    length_mm, width_mm = with_plate_mm(
        BRIDGE_ALONG_MM if along is None else along,
        BRIDGE_ACROSS_MM if across is None else across,
        PLATE_MARGIN_MM if margin is None else margin,
    )
    return {"bridge_length_mm": length_mm, "bridge_width_mm": width_mm}


def _check_order(z: Zones, length_mm: float, where: str) -> None:
    """Down the body: board, soundhole, bridge, tail."""
    if z.bridge_width_mm and z.bridge_y_mm + z.bridge_length_mm / 2 > length_mm:
        raise Mistake(
            f"the bridge at {z.bridge_y_mm:.1f} mm lies off the body of {length_mm:.1f} mm",
            where=where,
            do="measure from the neck end of the body, not from the nut; check the fret at the body",
        )
    hole_end = z.soundhole_y_mm + z.soundhole_mm / 2 if z.soundhole_mm else 0.0
    if z.soundhole_mm and hole_end > z.bridge_y_mm - z.bridge_length_mm / 2:
        raise Mistake(
            f"the soundhole reaches to {hole_end:.1f} mm, under the bridge at {z.bridge_y_mm:.1f} mm",
            where=where,
            do="check both distances from the neck end",
        )
