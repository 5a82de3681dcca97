"""The history of a pair, a build, a class or a student, and undoing a line of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Date, select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import choices, flaw_edits, kept, photos, readings
from seamlight.shop.change import Change, Changed, Conflict, plain
from seamlight.shop.numbered import numbered
from seamlight.shop.tables import Fields, History, StageEvent
from seamlight.shop.times import UtcTime

KEPT_FOR = timedelta(days=30)
OF_A_PAIR = ("pair", "choice", *(f"flaws {face}" for face in flaw_edits.FACES))
BY_SUBJECT = {kept.subject_of(table): table for table in kept.THINGS}


def history(session: Session, subject: str, subject_id: int, *, most: int = 200) -> list[History]:
    """What was done to it, newest first; a pair's choice and flaws are part of its history."""
    subjects = OF_A_PAIR if subject == "pair" else (subject,)
    lines = select(History).where(History.subject.in_(subjects), History.subject_id == subject_id)
    return list(session.scalars(lines.order_by(History.id.desc()).limit(most)))


def undo(change: Change, history_id: int) -> None:
    """Undo one line of the history, where nothing later rests on it; the undoing is a line of its own.

    Raises:
        Conflict: the same was changed again since then.
        Mistake: it is older than 30 days, or is nothing that can be undone.
    """
    line = numbered(change.session, History, history_id, "line of the history")
    if change.at - line.at > KEPT_FOR:
        raise Mistake(f"was more than {KEPT_FOR.days} days ago", where=line.what, do="change it by hand")
    if line.subject in BY_SUBJECT and line.version is not None and _own_fields(line):
        _undo_edit(change, line)
    elif line.subject == "choice":
        _undo_choice(change, line)
    elif line.subject.startswith("flaws "):
        leaf = line.subject.removeprefix("flaws ")
        edits = dict(line.before or {})
        bound = {name: edits.pop(name, None) for name in ("made_on", "boxes")}
        flaw_edits.keep_flaw_edits(
            change, line.subject_id, leaf, edits, **bound, expected_version=line.version
        )
    else:
        _undo_part(change, line)


def _own_fields(line: History) -> bool:
    """Whether a line tells of the thing's own fields, not of something that was given to it."""
    own = {column.key for column in BY_SUBJECT[line.subject].__table__.columns}
    return {*(line.before or {}), *(line.after or {})} <= own


def _undo_edit(change: Change, line: History) -> None:
    table = BY_SUBJECT[line.subject]
    thing = kept.find(change.session, table, line.subject_id, deleted=True)
    if line.before is None:
        kept.delete(change, thing, expected_version=line.version)
        return
    now = plain(kept.fields_of(thing)) or {}
    if any(now.get(name) != value for name, value in (line.after or {}).items()):
        later = select(History).where(
            History.subject == line.subject, History.subject_id == line.subject_id, History.id > line.id
        )
        found = change.session.scalars(later.order_by(History.id))
        raise Conflict(kept.named(thing), [Changed.of(each) for each in found])
    before = _typed(table, line.before)
    kept.edit(change, thing, before, what=f"undone: {line.what}")
    if "stage" in before:
        back = StageEvent(pair_id=thing.id, stage=before["stage"], at=change.at, by=change.who, note="undone")
        change.session.add(back)


def _undo_choice(change: Change, line: History) -> None:
    before = line.before
    if before is None:
        choices.drop_choice(change, line.subject_id, expected_version=line.version)
        return
    # After a dropped choice there is none: it is at version 0 for whoever looks at it.
    live = choices.choice(change.session, line.subject_id)
    if line.after is None:
        choices.keep_choice(change, line.subject_id, **before, expected_version=0)
    else:
        whole = {**(choices.said(live) if live else {}), **before}
        choices.keep_choice(change, line.subject_id, **whole, expected_version=line.version)


def _undo_part(change: Change, line: History) -> None:
    said: Mapping[str, Any] = line.after or line.before or {}
    if line.what in ("photo added", "photo brought back"):
        photos.take_away(change, said["photo"])
    elif line.what == "photo taken away":
        photos.give_back(change, said["photo"])
    elif "reading" in said:
        (readings.delete_reading if line.after else readings.bring_back_reading)(change, said["reading"])
    else:
        raise Mistake("cannot be undone by itself", where=line.what, do="change it by hand")


def _typed(table: type[kept.Kept], fields: Fields) -> Fields:
    """Fields of the history as the columns want them: times and dates out of their text."""
    columns = table.__table__.columns
    return {name: _value(columns[name].type, value) for name, value in fields.items()}


def _value(kind: Any, value: Any) -> Any:
    if isinstance(value, str) and isinstance(kind, UtcTime):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and isinstance(kind, Date):
        return date.fromisoformat(value)
    return value
