"""Deleted things go for good after 30 days; files that nothing names are swept away."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import CursorResult, Delete, Select, delete, select
from sqlalchemy.orm import Session

from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.files import PART, SHA
from seamlight.shop.history import KEPT_FOR
from seamlight.shop.hold import hold_copies
from seamlight.shop.named_files import named_files
from seamlight.shop.shop import Shop
from seamlight.shop.tables import (
    Arrival,
    Build,
    Class,
    File,
    History,
    Pair,
    PairFit,
    PairPhoto,
    Reading,
    Row,
    Student,
)
from seamlight.shop.typed import STUDENT_GONE

SWEPT_AFTER_S = 24 * 3600


@dataclass(frozen=True)
class Purged:
    """How much went for good."""

    pairs: int = 0
    builds: int = 0
    classes: int = 0
    students: int = 0
    photos: int = 0
    readings: int = 0
    arrivals: int = 0
    files: int = 0


@dataclass(frozen=True)
class Deleted:
    """Something that can still be brought back, until `until`."""

    subject: str
    subject_id: int
    label: str
    deleted_at: datetime
    until: datetime


def recently_deleted(session: Session) -> list[Deleted]:
    """Pairs, instruments, classes and students that can be brought back, the newest first."""
    found = [
        Deleted(kept.subject_of(thing), thing.id, thing.label, thing.deleted_at, thing.deleted_at + KEPT_FOR)
        for thing in _deleted(session)
        if thing.deleted_at is not None
    ]
    return sorted(found, key=lambda each: each.deleted_at, reverse=True)


def _deleted(session: Session) -> list[kept.Kept]:
    """Students before their classes, so that no class goes before them."""
    return [
        *session.scalars(select(Pair).where(Pair.deleted_at.is_not(None))),
        *session.scalars(select(Build).where(Build.deleted_at.is_not(None))),
        *session.scalars(select(Student).where(Student.deleted_at.is_not(None))),
        *session.scalars(select(Class).where(Class.deleted_at.is_not(None))),
    ]


def purge(shop: Shop, who: str) -> Purged:
    """Take away for good what was deleted more than 30 days ago, then the files that nothing names.

    Raises:
        Mistake: a backup is being made at this moment.
    """
    with hold_copies(shop.folder):
        with shop.change(who) as change:
            rows = _purge_rows(change)
        with shop.change(who) as change:  # no file gets its row while this lasts
            files = _sweep(shop, change.session)
    return Purged(**rows, files=files)


def _purge_rows(change: Change) -> dict[str, int]:
    session, before = change.session, change.at - KEPT_FOR
    gone = {"pairs": 0, "builds": 0, "students": 0, "classes": 0}
    for thing in _deleted(session):
        if thing.deleted_at is None or thing.deleted_at >= before:
            continue
        if isinstance(thing, Class):
            for student in session.scalars(select(Student).where(Student.class_id == thing.id)).all():
                _let_go(change, student)
                gone["students"] += 1
        _let_go(change, thing)
        gone["classes" if isinstance(thing, Class) else f"{kept.subject_of(thing)}s"] += 1
    old = select(Reading.id).where(Reading.deleted_at < before)
    session.execute(delete(PairFit).where(PairFit.reading_id.in_(old)))
    gone["readings"] = _count(session, delete(Reading).where(Reading.deleted_at < before))
    gone["photos"] = _count(session, delete(PairPhoto).where(PairPhoto.deleted_at < before))
    gone["arrivals"] = _count(session, delete(Arrival).where(Arrival.id.in_(_long_dropped(before))))
    session.flush()
    needed = named_files(session, undone_until=before)
    for row in session.scalars(select(File).where(File.added_at < before)):
        if row.sha256 not in needed:
            session.delete(row)
    return gone


def _let_go(change: Change, thing: kept.Kept) -> None:
    """Delete one for good, with what is a part of it."""
    _leave_behind(change, thing)
    _forget_parts(change.session, thing.__tablename__, thing.id)
    change.session.delete(thing)
    change.session.flush()
    change.record(kept.subject_of(thing), thing.id, "gone for good", {"label": thing.label}, None)


def _leave_behind(change: Change, thing: kept.Kept) -> None:
    """What outlives a student or a class: instruments, and what was measured on them, by whom it says."""
    if not isinstance(thing, Student | Class):
        return
    field = "student_id" if isinstance(thing, Student) else "class_id"
    for build in change.session.scalars(select(Build).where(getattr(Build, field) == thing.id)).all():
        kept.edit(change, build, {field: None}, what=f"its {kept.subject_of(thing)} is gone")
    if isinstance(thing, Student):
        for reading in change.session.scalars(select(Reading).where(Reading.student_id == thing.id)).all():
            reading.says, reading.student_id = {**reading.says, STUDENT_GONE: True}, None
    change.session.flush()


def _forget_parts(session: Session, owner: str, number: int) -> None:
    """Delete whatever refers to something, those that refer to others first."""
    for table in reversed(Row.metadata.sorted_tables):
        for key in table.foreign_keys:
            if key.target_fullname == f"{owner}.id":
                session.execute(table.delete().where(key.parent == number))


def _long_dropped(before: datetime) -> Select[int]:
    since = select(History.subject_id).where(
        History.subject == "arrival", History.what == "dropped", History.at >= before
    )
    return select(Arrival.id).where(Arrival.state == "dropped", Arrival.at < before, Arrival.id.not_in(since))


def _count(session: Session, statement: Delete) -> int:
    return cast("CursorResult[Any]", session.execute(statement)).rowcount


def _sweep(shop: Shop, session: Session) -> int:
    """Remove files without a row that lay untouched for a day; whoever keeps one touches it."""
    rows = set(session.scalars(select(File.sha256)))
    swept = 0
    for name in shop.files.names():
        path = shop.files.folder / name
        ours = SHA.fullmatch(name) or name.startswith(PART)
        if ours and name not in rows and time.time() - path.stat().st_mtime > SWEPT_AFTER_S:
            shop.disk.remove(path)
            swept += 1
    return swept
