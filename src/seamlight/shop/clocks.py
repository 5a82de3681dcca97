"""Glue clocks: when a joint may leave the clamps, be planed, be thicknessed; and times as a bench reads them.

Times go in and out in UTC; only `shown` and `left` are for the eye, in the shop's own zone.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from seamlight.mistake import Mistake
from seamlight.shop.glues import Glue, Span
from seamlight.shop.zone import zone_of as zone_of
from seamlight.units import show_temperature

State = Literal["in the clamps", "out, not to be stressed", "may be planed", "may be thicknessed"]


@dataclass(frozen=True)
class GlueClock:
    """One glue-up's times, UTC. Those without `_earliest` are the usual ones, and the ones to promise."""

    glued_at: datetime
    off_earliest_at: datetime
    off_at: datetime
    work_at: datetime
    thickness_earliest_at: datetime
    thickness_at: datetime
    warnings: tuple[str, ...]

    def state(self, now: datetime) -> State:
        """Where it stands."""
        _known(now)
        if now < self.off_at:
            return "in the clamps"
        if now < self.work_at:
            return "out, not to be stressed"
        return "may be planed" if now < self.thickness_at else "may be thicknessed"

    def next_at(self, now: datetime) -> datetime | None:
        """When the state next changes; None once it may be thicknessed."""
        _known(now)
        return next((at for at in (self.off_at, self.work_at, self.thickness_at) if now < at), None)


def glue_clock(
    glue: Glue,
    glued_at: datetime,
    *,
    temp_c: float | None = None,
    rh_pct: float | None = None,
    wood_mc_pct: float | None = None,
) -> GlueClock:
    """The times of one glue-up, counted from closing the clamps.

    Args:
        glue: the glue, the shop's own figures where there are any.
        glued_at: UTC.
        temp_c: of the wood and the room.
        rh_pct: relative humidity of the shop.
        wood_mc_pct: moisture content of the wood.

    Raises:
        Mistake: a time without its zone.
    """
    _known(glued_at)
    at = glued_at.astimezone(UTC)
    return GlueClock(
        glued_at=at,
        off_earliest_at=at + _least(glue.clamp),
        off_at=at + _usual(glue.clamp),
        work_at=at + _usual(glue.work),
        thickness_earliest_at=at + _least(glue.rest),
        thickness_at=at + _usual(glue.rest),
        warnings=_warnings(glue, temp_c, rh_pct, wood_mc_pct),
    )


def _least(span: Span) -> timedelta:
    return timedelta(minutes=span.least_min)


def _usual(span: Span) -> timedelta:
    return timedelta(minutes=span.usual_min)


def _warnings(
    glue: Glue, temp_c: float | None, rh_pct: float | None, wood_mc_pct: float | None
) -> tuple[str, ...]:
    said = []
    if temp_c is not None and glue.least_temp_c is not None and temp_c < glue.least_temp_c:
        said.append(
            f"{show_temperature(temp_c)} is below the {show_temperature(glue.least_temp_c)} that {glue.name}"
            " needs: these times do not hold, the joint may not either. Warm the wood, not only the room."
        )
    if rh_pct is not None and glue.most_rh_pct is not None and rh_pct > glue.most_rh_pct:
        said.append(
            f"The air is at {rh_pct:.0f} %, above {glue.most_rh_pct:.0f} %: water leaves slowly, wait longer."
        )
    if wood_mc_pct is not None and glue.most_wood_mc_pct is not None and wood_mc_pct > glue.most_wood_mc_pct:
        said.append(
            f"The wood is at {wood_mc_pct:.1f} % moisture, above {glue.most_wood_mc_pct:g} %: "
            "a raised line shows at the seam later."
        )
    return tuple(said)


def _known(at: datetime) -> None:
    if at.tzinfo is None:
        raise Mistake("a time without its zone", do="give it in UTC")


def shown(at: datetime, now: datetime, zone: ZoneInfo | None = None) -> str:
    """A time as a bench reads it: `today 14:30`, `tomorrow 09:00`, `Tue 1 Dec, 09:00`.

    Args:
        at: when.
        now: the moment it is read.
        zone: the shop's; this computer's where it is None.
    """
    _known(at)
    _known(now)
    local, here = at.astimezone(zone), now.astimezone(zone)
    days = (local.date() - here.date()).days
    clock = f"{local:%H:%M}"
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    if near:
        return f"{near} {clock}"
    year = f" {local.year}" if local.year != here.year else ""
    return f"{local:%a} {local.day} {local:%b}{year}, {clock}"


def left(at: datetime, now: datetime) -> str:
    """How long until then: `40 min`, `3 h 05 min`, `2 days 4 h`; `0 min` once it is past.

    Rounded up to the minute, so that nothing is called ready before it is.
    """
    _known(at)
    _known(now)
    seconds = max(0.0, (at - now).total_seconds())
    minutes = int(-(-seconds // 60))
    hours, over = divmod(minutes, 60)
    days, rest_h = divmod(hours, 24)
    if days:
        said = f"{days} day{'s' if days > 1 else ''}"
        return f"{said} {rest_h} h" if rest_h else said
    return f"{hours} h {over:02d} min" if hours else f"{over} min"
