"""The shop's air as someone read it off the hygrometer: typed, kept, newest first."""

from __future__ import annotations

import re

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.tables import Air

_LONGEST = 40  # letters of a figure with its unit
COLDEST_C, HOTTEST_C = -30.0, 60.0
_NUMBER = r"\s*(?P<number>[-+\N{MINUS SIGN}]?\d+(?:[.,]\d+)?)\s*"


def note_air(change: Change, temp_c: float | None, rh_pct: float | None, note: str = "") -> Air:
    """Keep one look at thermometer and hygrometer.

    Raises:
        Mistake: neither was read.
    """
    if temp_c is None and rh_pct is None:
        raise Mistake("nothing was typed", where="rh", do="write the humidity, the temperature or both")
    row = Air(at=change.at, temp_c=temp_c, rh_pct=rh_pct, by=change.who, note=" ".join(note.split()) or None)
    change.session.add(row)
    change.session.flush()
    change.record("air", row.id, "read", after={"temp_c": temp_c, "rh_pct": rh_pct})
    return row


def newest_air(session: Session) -> Air | None:
    """The last look, or None."""
    return session.scalar(select(Air).order_by(Air.at.desc(), Air.id.desc()).limit(1))


def air_log(session: Session, most: int = 200) -> list[Air]:
    """Looks, newest first."""
    return list(session.scalars(select(Air).order_by(Air.at.desc(), Air.id.desc()).limit(most)))


def parse_temperature(typed: str, *, where: str = "") -> float | None:
    """Degrees C of a typed temperature, None where nothing is typed.

    Raises:
        Mistake: it is none, or no shop is as cold or hot.

    >>> parse_temperature("21,5")
    21.5
    >>> round(parse_temperature("70 F"), 1)
    21.1
    """
    if not typed.strip():
        return None
    found = re.fullmatch(rf"{_NUMBER}(?:°|º|deg)?\s*(?P<unit>[cCfF]?)\s*", typed[: _LONGEST + 1])
    if found is None or len(typed) > _LONGEST:
        raise Mistake(
            f"{typed[:_LONGEST]!r} is no temperature", where=where, do="write it like 21, 21.5 C or 70 F"
        )
    degrees = float(found["number"].replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    temp_c = (degrees - 32) / 1.8 if found["unit"] in ("f", "F") else degrees
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        raise Mistake(
            f"{typed.strip()} is {temp_c:.0f} degrees C; no shop is like that",
            where=where,
            do="write Fahrenheit as 70 F",
        )
    return temp_c


def parse_humidity(typed: str, *, where: str = "") -> float | None:
    """Relative humidity in % of what was typed, None where nothing is typed.

    Raises:
        Mistake: it is no humidity, or one below any on earth.

    >>> parse_humidity("45 %")
    45.0
    """
    if not typed.strip():
        return None
    found = re.fullmatch(rf"{_NUMBER}(?:%|pct|percent)?\s*(?:rh)?\s*", typed[:_LONGEST], re.IGNORECASE)
    rh_pct = float(found["number"].replace(",", ".").replace("\N{MINUS SIGN}", "-")) if found else -1.0
    if not 0 <= rh_pct <= 100 or len(typed) > _LONGEST:
        raise Mistake(
            f"{typed[:_LONGEST]!r} is no relative humidity", where=where, do="write it like 45 or 45 %"
        )
    if 0 < rh_pct < 1:
        raise Mistake(
            f"{typed.strip()} is drier than any air",
            where=where,
            do=f"write {100 * rh_pct:g} if it was a share",
        )
    return rh_pct
