"""What a pair is laid out with: trims, the least off the joint, book- or slip-matched, wedges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any, Literal

from sqlalchemy.orm import Session

from seamlight.layout.opening import LayoutSettings
from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.settings import keep_setting, setting

MOST_TRIM_MM, MOST_JOINT_MM, MOST_WEDGE_DEG = 60.0, 20.0, 30.0


def settings_of(said: Mapping[str, Any], use: Literal["top", "back"]) -> LayoutSettings:
    """Layout settings from what was kept of them; what is not said stands as the contract has it."""
    known = set(LayoutSettings.__dataclass_fields__)
    return LayoutSettings(**{"use": use, **{k: v for k, v in said.items() if k in known}})


def settings_for(session: Session, pair_id: int, use: Literal["top", "back"]) -> LayoutSettings:
    """What a pair is laid out with where no choice says it."""
    return replace(settings_of(setting(session, _key(pair_id), {}), use), use=use)


def keep_settings_for(change: Change, pair_id: int, wanted: LayoutSettings) -> None:
    """Keep what a pair is laid out with.

    Raises:
        Mistake: a figure that cannot be.
    """
    checked(wanted)
    before = setting(change.session, _key(pair_id), {})
    keep_setting(change, _key(pair_id), asdict(wanted))
    change.record("pair", pair_id, "laid out otherwise", dict(before), asdict(wanted))


def same_search(one: LayoutSettings, other: LayoutSettings) -> bool:
    """Whether a search with either finds the same; wedges are drawn afterwards."""
    return replace(one, wedge_angle_deg=None) == replace(other, wedge_angle_deg=None)


def checked(wanted: LayoutSettings) -> LayoutSettings:
    """The settings, if they can be.

    Raises:
        Mistake: `where` is the field.
    """
    for field, most in (
        ("trim_mm", MOST_TRIM_MM),
        ("end_trim_mm", MOST_TRIM_MM),
        ("joint_mm", MOST_JOINT_MM),
    ):
        if not 0.0 <= getattr(wanted, field) <= most:
            raise Mistake("cannot be", where=field.removesuffix("_mm"), do=f"write 0 to {most:g} mm")
    angle = wanted.wedge_angle_deg
    if angle is not None and not 0.0 < angle <= MOST_WEDGE_DEG:
        raise Mistake("no wedge has that angle", where="wedge", do=f"write up to {MOST_WEDGE_DEG:g} degrees")
    return wanted


def _key(pair_id: int) -> str:
    return f"layout of pair {pair_id}"
