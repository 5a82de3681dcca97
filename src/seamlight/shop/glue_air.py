"""The air of a glue-up: every one stores the temperature and the humidity of its moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.air import note_air, parse_humidity, parse_temperature
from seamlight.shop.bench_now import AIR_GOOD_FOR
from seamlight.shop.change import Change
from seamlight.shop.tables import Air


@dataclass(frozen=True)
class GlueAir:
    """The air that a glue-up stores; `read_at` where it is the log's, None where it was typed."""

    temp_c: float
    rh_pct: float
    read_at: datetime | None


def air_around(session: Session, moment: datetime) -> Air | None:
    """The look at the hygrometer that says most of a moment: the nearest, while it is good for it."""
    near = select(Air).where(Air.at >= moment - AIR_GOOD_FOR, Air.at <= moment + AIR_GOOD_FOR)
    looks = session.scalars(near.order_by(Air.id.desc()))
    return min(looks, key=lambda look: abs(look.at - moment), default=None)


def air_at_glue_up(change: Change, glued_at: datetime, temp: str, rh: str) -> GlueAir:
    """What was typed, else the log's of that moment. What was typed of now goes into the log, once.

    Args:
        temp, rh: as typed; empty where they were not.

    Raises:
        Mistake: neither typed nor read within the hours that a look is good for.
    """
    look = air_around(change.session, glued_at)
    temp_c, rh_pct = parse_temperature(temp, where="temp"), parse_humidity(rh, where="rh")
    typed = (temp_c, rh_pct)
    if look is not None:
        temp_c = look.temp_c if temp_c is None else temp_c
        rh_pct = look.rh_pct if rh_pct is None else rh_pct
    for figure, field, name in ((temp_c, "temp", "temperature"), (rh_pct, "rh", "humidity")):
        if figure is None:
            raise Mistake(
                f"the {name} was not read", where=field, do="read it now: each glue-up keeps its air"
            )
    assert temp_c is not None
    assert rh_pct is not None
    as_read = look is not None and _alike(temp_c, look.temp_c) and _alike(rh_pct, look.rh_pct)
    if typed != (None, None) and not as_read and change.at - glued_at <= AIR_GOOD_FOR:
        note_air(change, *typed, "at a glue-up")
    return GlueAir(temp_c, rh_pct, look.at if look is not None and as_read else None)


def _alike(figure: float, read: float | None) -> bool:
    """Whether a figure is the one read, as fields show it."""
    return read is not None and abs(figure - read) < 0.06
