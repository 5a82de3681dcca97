"""The shop's time zone: times are kept in UTC and shown, and days begin, by the shop's own clock."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.settings import setting

ZONE = "zone"  # the setting's key; empty or not set: this computer's own zone


def zone_of(name: str) -> ZoneInfo:
    """A time zone by its name in the IANA database, such as `Europe/Vienna`.

    Raises:
        Mistake: no such zone.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Mistake(
            f"no time zone is called {name!r}", where="time zone", do="write it like Europe/Vienna or UTC"
        ) from None


def zone_name(typed: str, *, where: str = ZONE) -> str:
    """The name of a zone as it was typed: any case, spaces for underscores, a city alone if there is one.

    >>> zone_name("america/new york")
    'America/New_York'
    >>> zone_name("Vienna")
    'Europe/Vienna'

    Returns:
        The zone's own name; "" where nothing was typed.

    Raises:
        Mistake: there is none, or more than one.
    """
    wanted = "_".join(typed.split()).casefold()
    if not wanted:
        return ""
    names = zone_names()
    found = [name for name in names if name.casefold() == wanted]
    if not found:
        found = [name for name in names if name.casefold().rpartition("/")[2] == wanted]
    if len(found) != 1:
        do = f"say {' or '.join(found)}" if found else "write it like Europe/Vienna or UTC"
        raise Mistake(f"no time zone is called {' '.join(typed.split())!r}", where=where, do=do)
    zone_of(found[0])
    return found[0]


def zone_names() -> list[str]:
    """Every zone that this computer knows, by name."""
    return sorted(available_timezones() - {"localtime", "Factory"})


def shop_zone(session: Session) -> ZoneInfo | None:
    """The zone that was set; None for this computer's own, also where it doesn't know the one set."""
    return known_zone(setting(session, ZONE))


def known_zone(name: object) -> ZoneInfo | None:
    """The zone of that name, None where there is none: a page is shown in any case."""
    try:
        return zone_of(name) if isinstance(name, str) and name else None
    except Mistake:
        return None


def begins(day: date, zone: ZoneInfo | None) -> datetime:
    """When a day begins by the shop's clock, in UTC; this computer's clock where the zone is None."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
    return midnight.astimezone(UTC)


def day_at(moment: datetime, zone: ZoneInfo | None) -> date:
    """Which day it is by the shop's clock."""
    return moment.astimezone(zone).date()
