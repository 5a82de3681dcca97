"""One change of the shop: one transaction, by one person, at one time, with its history."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.files import Files
from seamlight.shop.numbered import LARGEST
from seamlight.shop.tables import Fields, History


@dataclass(frozen=True)
class Change:
    """What `Shop.change` hands out. Everything in it is committed together or not at all."""

    session: Session
    who: str
    at: datetime
    files: Files

    def record(
        self,
        subject: str,
        subject_id: int,
        what: str,
        before: Fields | None = None,
        after: Fields | None = None,
        *,
        version: int | None = None,
    ) -> History:
        """Write one line of history.

        Args:
            subject: "pair", "build", ...: whose history it is.
            subject_id: its number.
            what: what was done, in a word or two: made, edited, deleted, weighed.
            before, after: the fields that changed.
            version: the subject's own version after the change, where it has one.
        """
        row = History(
            subject=subject,
            subject_id=subject_id,
            what=what,
            version=version,
            before=plain(before),
            after=plain(after),
            at=self.at,
            by=self.who,
        )
        self.session.add(row)
        return row


@dataclass(frozen=True)
class Changed:
    """One line of history, as a person is told it."""

    what: str
    fields: tuple[str, ...]
    by: str
    at: datetime

    @classmethod
    def of(cls, line: History) -> Changed:
        """From the line."""
        fields = sorted({*(line.before or {}), *(line.after or {})})
        return cls(line.what, tuple(fields), line.by, line.at)

    def __str__(self) -> str:
        shown = ", ".join(self.fields[:6]) + (", ..." if len(self.fields) > 6 else "")
        named = f" ({shown})" if shown else ""
        return f"{self.what}{named} by {self.by} on {self.at:%Y-%m-%d at %H:%M} UTC"


class Conflict(Mistake):
    """Someone else changed it first; nothing was overwritten.

    `changes` tells what was changed since the version that was looked at, oldest first.
    """

    def __init__(self, named: str, changes: list[Changed]) -> None:
        self.changes = changes
        said = "; ".join(str(change) for change in changes) or "changed elsewhere"
        super().__init__(f"{named} is no longer as you saw it: {said}", do="look again, then change it")


def check_version(
    change: Change, subject: str, subject_id: int, named: str, now: int, expected: int | None
) -> None:
    """Refuse a change that rests on an older version.

    Raises:
        Conflict: who changed what and when since then.
    """
    if expected is None or expected == now:
        return
    since = expected if 0 <= expected <= LARGEST else -1  # what no version ever was rests on none
    lines = select(History).where(
        History.subject == subject, History.subject_id == subject_id, History.version > since
    )
    found = change.session.scalars(lines.order_by(History.id))
    raise Conflict(named, [Changed.of(line) for line in found])


def plain(fields: Fields | None) -> Fields | None:
    """Fields as JSON can hold them: dates and times as ISO 8601 text."""
    if fields is None:
        return None
    return {name: _plain(value) for name, value in fields.items()}


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, (date, datetime)) else value
