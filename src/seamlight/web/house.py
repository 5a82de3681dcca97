"""The shop's way of showing things, read once for every request."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.shop.tables import Setting
from seamlight.shop.zone import ZONE, known_zone
from seamlight.units import Unit

UNIT, NAME, MAKER = "unit", "shop_name", "maker"


@dataclass(frozen=True)
class House:
    """What every page needs to know."""

    unit: Unit = "mm"  # lengths are shown in it, and a bare number takes it
    name: str = "Seamlight"
    maker: str = "owner"  # what the history calls whoever sits at this computer
    zone: ZoneInfo | None = None  # by whose clock times are shown; None: this computer's


def read_house(session: Session) -> House:
    """The settings that every page needs."""
    rows = session.execute(
        select(Setting.key, Setting.value).where(Setting.key.in_((UNIT, NAME, MAKER, ZONE)))
    )
    said = {key: str(value.get("is") or "") for key, value in rows}
    plain = House()
    unit = said.get(UNIT, plain.unit)
    return House(
        unit=cast(Unit, unit if unit in ("mm", "inch") else plain.unit),
        name=said.get(NAME) or plain.name,
        maker=said.get(MAKER) or plain.maker,
        zone=known_zone(said.get(ZONE)),
    )
