"""Things with a version: made, edited, deleted and brought back, each with its line of history.

Pairs, builds, classes and students are such things. Every change of one goes through here, so that its
history has no gap.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from seamlight.shop.change import Change, check_version
from seamlight.shop.missing import Missing
from seamlight.shop.numbered import numbered
from seamlight.shop.tables import Build, Class, Fields, Pair, Row, Student

Kept = Pair | Build | Class | Student
Thing = TypeVar("Thing", bound=Kept)
THINGS: tuple[type[Kept], ...] = (Pair, Build, Class, Student)
OWN = frozenset({"id", "version", "created_at", "changed_at"})


def subject_of(thing: Row | type[Row]) -> str:
    """Its name in the history: pair, build, class or student."""
    return str(thing.__tablename__).rstrip("_")


def named(thing: Kept) -> str:
    """As a person is told it: "pair T7"."""
    return f"{subject_of(thing)} {thing.label}"


def find(session: Session, table: type[Thing], number: int, *, deleted: bool = False) -> Thing:
    """The thing of that number, as it is now.

    Raises:
        Missing: there is none, or it was deleted and `deleted` does not allow that.
    """
    thing = numbered(session, table, number, subject_of(table))
    if thing.deleted_at is not None and not deleted:
        raise Missing(f"{named(thing)} was deleted", do="bring it back first")
    return thing


def make(change: Change, thing: Thing, what: str = "made") -> Thing:
    """Add a new one; `what` is the word for the history."""
    thing.version = 1
    thing.created_at = thing.changed_at = change.at
    change.session.add(thing)
    change.session.flush()
    after = {name: value for name, value in fields_of(thing).items() if value is not None}
    change.record(subject_of(thing), thing.id, what, None, after, version=1)
    return thing


def edit(
    change: Change,
    thing: Thing,
    values: Mapping[str, Any],
    *,
    expected_version: int | None = None,
    what: str = "edited",
) -> bool:
    """Give fields new values; False when they had them already.

    Args:
        change: the change it belongs to.
        thing: what is edited.
        values: by field name.
        expected_version: what the person was looking at; None where the order does not matter.
        what: the word for the history.

    Raises:
        Conflict: it was changed since that version.
    """
    check_version(change, subject_of(thing), thing.id, named(thing), thing.version, expected_version)
    now = fields_of(thing)
    unknown = sorted(set(values) - set(now))
    if unknown:
        raise ValueError(f"a {subject_of(thing)} has no field {', '.join(unknown)}")
    after = {name: value for name, value in values.items() if now[name] != value}
    if not after:
        return False
    for name, value in after.items():
        setattr(thing, name, value)
    thing.version += 1
    thing.changed_at = change.at
    change.session.flush()
    before = {name: now[name] for name in after}
    change.record(subject_of(thing), thing.id, what, before, after, version=thing.version)
    return True


def delete(change: Change, thing: Thing, *, expected_version: int | None = None) -> None:
    """Put it among the recently deleted."""
    edit(change, thing, {"deleted_at": change.at}, expected_version=expected_version, what="deleted")


def bring_back(change: Change, thing: Thing) -> None:
    """Take it out of the recently deleted."""
    edit(change, thing, {"deleted_at": None}, what="brought back")


def fields_of(thing: Kept) -> Fields:
    """Everything a person can change, by field name."""
    names = (column.key for column in type(thing).__table__.columns)
    return {name: getattr(thing, name) for name in names if name not in OWN}
