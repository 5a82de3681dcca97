"""The glue that joints get in this shop: the facts of timber, the shop's own times and limits winning."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy.orm import Session

from seamlight.shop.change import Change
from seamlight.shop.clamps import shop_glues
from seamlight.shop.glues import DAY_MIN, HOUR_MIN, OWN, Glue, Span, glue_of
from seamlight.shop.settings import keep_setting, setting
from seamlight.timber.glue import DEFAULT_GLUE, Range, glue, glue_names
from seamlight.timber.glue import Glue as Facts

JOINT_GLUE = "glue for joints"


def joint_glue(session: Session, name: str | None = None) -> Facts:
    """A glue with the shop's own figures; the one that joints got last where none is named.

    Raises:
        Mistake: there is no such glue.
    """
    key = name or setting(session, JOINT_GLUE, DEFAULT_GLUE)
    return own_facts(glue_of(key if key in glue_names() else DEFAULT_GLUE, shop_glues(session)))


def own_facts(own: Glue) -> Facts:
    """A glue's facts where the shop's own times and limits win; pressures and words stay as they are known.

    Raises:
        Mistake: nothing is known of the pressures that a glue of that key wants.
    """
    known = glue(own.key)
    return replace(
        known,
        name=own.name,
        open_min=_range(own.open_time, known.open_min, 1.0),
        clamp_min=_range(own.clamp, known.clamp_min, 1.0),
        work_h=_range(own.work, known.work_h, HOUR_MIN),
        rest_days=_range(own.rest, known.rest_days, DAY_MIN),
        wood_temp_c=_limit(known.wood_temp_c, low=own.least_temp_c),
        air_rh_pct=_limit(known.air_rh_pct, high=own.most_rh_pct),
        wood_mc_pct=_limit(known.wood_mc_pct, high=own.most_wood_mc_pct),
    )


def use_joint_glue(change: Change, key: str) -> None:
    """Joints get this glue from now on; one whose pressures nobody knows is only timed."""
    if key in glue_names() and setting(change.session, JOINT_GLUE, DEFAULT_GLUE) != key:
        keep_setting(change, JOINT_GLUE, key)


def _range(own: Span | None, known: Range, unit_min: float) -> Range:
    if own is None or own.standing != OWN:
        return known
    return Range(own.least_min / unit_min, own.usual_min / unit_min, "read", OWN)


def _limit(known: Range, *, low: float | None = None, high: float | None = None) -> Range:
    """A range with one end as the shop has it; the other end gives way where it would be passed."""
    if low is not None and low != known.low:
        return Range(low, max(known.high, low), "read", OWN)
    if high is not None and high != known.high:
        return Range(min(known.low, high), high, "read", OWN)
    return known
