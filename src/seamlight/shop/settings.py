"""The shop's own figures and wishes, by key."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.change import Change, Changed, Conflict
from seamlight.shop.tables import History, Setting

MOST_TOLD = 10


class SetMeanwhile(Conflict):
    """A setting that another device changed first; nothing was overwritten."""

    def __init__(self, key: str, changes: list[Changed]) -> None:
        self.changes = changes
        Mistake.__init__(self, "was set otherwise meanwhile", where=key, do="look again, then change it")


def setting(session: Session, key: str, default: Any = None) -> Any:
    """What is set, or `default`."""
    row = session.get(Setting, key)
    return default if row is None else row.value["is"]


def settings(session: Session, beginning: str = "") -> dict[str, Any]:
    """Everything that is set, by key; only keys that begin so."""
    rows = session.scalars(select(Setting).where(Setting.key.startswith(beginning, autoescape=True)))
    return {row.key: row.value["is"] for row in rows}


def setting_version(session: Session, key: str) -> int:
    """How often it was set: 0 where never."""
    row = session.get(Setting, key)
    return row.version if row else 0


def keep_setting(change: Change, key: str, value: Any, *, expected_version: int | None = None) -> Setting:
    """Set it: anything JSON can hold.

    Raises:
        SetMeanwhile: it was set otherwise since `expected_version`.
    """
    row = change.session.get(Setting, key)
    now = row.version if row else 0
    if expected_version is not None and expected_version != now:
        raise SetMeanwhile(key, _set_since(change.session, key, now - expected_version))
    before = row.value if row else None
    if row is None:
        row = Setting(key=key, version=0)
        change.session.add(row)
    row.value, row.version = {"is": value}, now + 1
    change.session.flush()
    change.record("setting", 0, f"{key} set", before, row.value)
    return row


def _set_since(session: Session, key: str, times: int) -> list[Changed]:
    """The last times it was set, oldest first; a setting's line of history has no version of its own."""
    lines = select(History).where(History.subject == "setting", History.what == f"{key} set")
    found = session.scalars(lines.order_by(History.id.desc()).limit(min(max(times, 1), MOST_TOLD))).all()
    return [Changed.of(line) for line in reversed(found)]
