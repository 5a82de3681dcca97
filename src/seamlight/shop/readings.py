"""Readings, computed or typed: the newest counts, all are kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.document import Document
from seamlight.mistake import Mistake
from seamlight.shop import figures
from seamlight.shop.change import Change
from seamlight.shop.numbered import numbered
from seamlight.shop.tables import Fields, File, Reading


def keep_reading(
    change: Change,
    verb: str,
    document: Document | Mapping[str, Any],
    *,
    pair_id: int | None = None,
    build_id: int | None = None,
    files: Iterable[str] = (),
    says: Mapping[str, Any] | None = None,
    temp_c: float | None = None,
    rh_pct: float | None = None,
    student_id: int | None = None,
) -> Reading:
    """Keep a reading.

    Args:
        change: the change it belongs to.
        verb: read, layout, seam, edge, tap, deflect, ...
        document: the document of that verb.
        pair_id, build_id: whose it is; one of them.
        files: hashes of the kept photographs it was read from.
        says: the settings it was made with; `leaf` for a reading of one leaf, `outline` for a layout.
        temp_c, rh_pct: the air it was made in.
        student_id: the student whose reading it is.

    Raises:
        Mistake: it belongs to nothing, or a photograph of it is not kept.
    """
    if (pair_id is None) == (build_id is None):
        raise Mistake("belongs to a pair or to a build", where="reading", do="name one of them")
    named = list(files)
    for sha in named:
        if change.session.get(File, sha) is None:
            raise Mistake("no such file is kept", where=sha[:12], do="send it first")
    row = Reading(
        pair_id=pair_id,
        build_id=build_id,
        verb=verb,
        document=as_fields(document),
        files=named,
        says=dict(says or {}),
        temp_c=temp_c,
        rh_pct=rh_pct,
        at=change.at,
        by=change.who,
        student_id=student_id,
    )
    change.session.add(row)
    change.session.flush()
    subject, number = ("pair", pair_id) if pair_id is not None else ("build", build_id)
    assert number is not None
    change.record(subject, number, f"{verb} kept", None, {"reading": row.id, **row.says})
    if pair_id is not None:
        figures.refresh(change.session, pair_id)
    return row


def readings(
    session: Session,
    *,
    pair_id: int | None = None,
    build_id: int | None = None,
    verb: str | None = None,
    **says: Any,
) -> list[Reading]:
    """Live readings, oldest first, such as `readings(session, pair_id=7, verb="read", leaf="a")`."""
    query = select(Reading).where(Reading.deleted_at.is_(None))
    if pair_id is not None:
        query = query.where(Reading.pair_id == pair_id)
    if build_id is not None:
        query = query.where(Reading.build_id == build_id)
    if verb is not None:
        query = query.where(Reading.verb == verb)
    found = session.scalars(query.order_by(Reading.id))
    return [row for row in found if all(row.says.get(name) == value for name, value in says.items())]


def newest(
    session: Session,
    verb: str,
    *,
    pair_id: int | None = None,
    build_id: int | None = None,
    **says: Any,
) -> Reading | None:
    """The reading that counts; None where there is none."""
    found = readings(session, pair_id=pair_id, build_id=build_id, verb=verb, **says)
    return found[-1] if found else None


def delete_reading(change: Change, reading_id: int) -> Reading:
    """Put a reading among the recently deleted; an older one counts again."""
    return _set_deleted(change, reading_id, "deleted")


def bring_back_reading(change: Change, reading_id: int) -> Reading:
    """Bring a deleted reading back."""
    return _set_deleted(change, reading_id, "brought back")


def _set_deleted(change: Change, reading_id: int, what: str) -> Reading:
    row = numbered(change.session, Reading, reading_id, "reading")
    deleted = what == "deleted"
    if (row.deleted_at is not None) == deleted:
        return row
    row.deleted_at = change.at if deleted else None
    change.session.flush()
    subject, number = ("pair", row.pair_id) if row.pair_id is not None else ("build", row.build_id)
    assert number is not None
    said: Fields = {"reading": row.id}
    change.record(subject, number, f"{row.verb} {what}", said if deleted else None, None if deleted else said)
    if row.pair_id is not None:
        figures.refresh(change.session, row.pair_id)
    return row


def as_fields(document: Document | Mapping[str, Any]) -> Fields:
    """A document as it is kept: exactly what its verb prints as JSON."""
    if isinstance(document, Document):
        return document.model_dump(mode="json", by_alias=True)
    return dict(document)
