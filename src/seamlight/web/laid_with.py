"""What a pair is laid out with, as it stands in its form and as it was typed there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal, cast

from seamlight.layout.opening import LayoutSettings
from seamlight.mistake import Mistake
from seamlight.shop.laying_out import checked
from seamlight.units import Unit, parse_length
from seamlight.web.filters import length_in

MATCHES = (("book", "book-matched"), ("slip", "slip-matched"))
LENGTHS = {"trim": "trim_mm", "end_trim": "end_trim_mm", "joint": "joint_mm"}


def typed_settings(settings: LayoutSettings, unit: Unit) -> dict[str, str]:
    """As they stand in the form."""
    shown = {name: length_in(getattr(settings, field), unit) for name, field in LENGTHS.items()}
    wedge = settings.wedge_angle_deg
    return shown | {"match": settings.match, "wedge": "" if wedge is None else f"{wedge:g}"}


def settings_typed(typed: Mapping[str, str], now: LayoutSettings, unit: Unit) -> LayoutSettings:
    """Settings as typed; a field that still says what was shown leaves its figure alone.

    Raises:
        Mistake: a figure that cannot be; `where` is the field.
    """
    shown = typed_settings(now, unit)
    lengths = {
        field: parse_length(typed[name], unit, where=name)
        for name, field in LENGTHS.items()
        if typed.get(name, "").strip() not in ("", shown[name])
    }
    match = typed.get("match", now.match)
    if match not in dict(MATCHES):
        raise Mistake(f"{match!r} is no way to match", where="match", do="choose one of the list")
    wanted = replace(
        now,
        trim_mm=lengths.get("trim_mm", now.trim_mm),
        end_trim_mm=lengths.get("end_trim_mm", now.end_trim_mm),
        joint_mm=lengths.get("joint_mm", now.joint_mm),
        match=cast(Literal["book", "slip"], match),
        wedge_angle_deg=_wedge(typed.get("wedge", "")),
    )
    return checked(wanted)


def _wedge(typed: str) -> float | None:
    said = typed.strip().removesuffix("°").replace(",", ".")
    if not said:
        return None
    try:
        return float(said)
    except ValueError as error:
        raise Mistake(
            f"{typed!r} is no angle", where="wedge", do="write degrees, like 5, or leave it empty"
        ) from error
