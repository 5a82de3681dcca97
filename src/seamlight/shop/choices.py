"""How a pair shall be opened, and where its outline lies."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.document import Part
from seamlight.shop import figures, kept
from seamlight.shop.change import Change, check_version
from seamlight.shop.made_on import pictures_read
from seamlight.shop.tables import Choice, Fields, Pair


def keep_choice(
    change: Change,
    pair_id: int,
    *,
    outline: Mapping[str, Any],
    opening: Mapping[str, Any],
    document: Part | Mapping[str, Any],
    settings: Mapping[str, Any] | None = None,
    placing: Mapping[str, Any] | None = None,
    made_on: Mapping[str, Any] | None = None,
    expected_version: int | None = None,
) -> Choice:
    """Choose, or choose anew, how a pair is opened; the history keeps the earlier choice whole.

    Args:
        change: the change it belongs to.
        pair_id: the pair.
        outline: {"name": stock name} or {"file": hash of the kept drawing}.
        opening: edge, neck end, face and match.
        document: the opening as it was judged.
        settings: what it was judged with.
        placing: where a hand put it; None for the best place.
        made_on: hash of each leaf's photograph that it is chosen on; None: those that were read last.
        expected_version: the version of the choice that was looked at; 0 where there was none.

    Raises:
        Conflict: it was chosen otherwise meanwhile.
    """
    kept.find(change.session, Pair, pair_id)
    row, now = _row(change.session, pair_id), pictures_read(change.session, pair_id)
    live = row if row is not None and row.deleted_at is None else None
    check_version(change, "choice", pair_id, "the choice", live.version if live else 0, expected_version)
    before = said(live) if live else None
    if row is None:
        row = Choice(pair_id=pair_id, version=0)
        change.session.add(row)
    row.version += 1
    row.outline, row.opening, row.settings = dict(outline), dict(opening), dict(settings or {})
    row.placing = dict(placing) if placing is not None else None
    row.made_on = dict(made_on or {leaf: now[leaf] for leaf in ("a", "b") if leaf in now}) or None
    judged = document.model_dump(mode="json", by_alias=True) if isinstance(document, Part) else document
    row.document = dict(judged)
    _keep(change, row, "chosen" if before is None else "chosen anew", before, deleted=False)
    return row


def drop_choice(change: Change, pair_id: int, *, expected_version: int | None = None) -> None:
    """Undo the choosing; nothing happens where nothing was chosen."""
    row = choice(change.session, pair_id)
    if row is None:
        return
    check_version(change, "choice", pair_id, "the choice", row.version, expected_version)
    row.version += 1
    _keep(change, row, "choice dropped", said(row), deleted=True)


def choice(session: Session, pair_id: int) -> Choice | None:
    """The pair's choice; None where none was made."""
    row = _row(session, pair_id)
    return row if row is not None and row.deleted_at is None else None


def choices(session: Session) -> dict[int, Choice]:
    """Every pair's choice, by the pair's number."""
    rows = session.scalars(select(Choice).where(Choice.deleted_at.is_(None)))
    return {row.pair_id: row for row in rows}


def _row(session: Session, pair_id: int) -> Choice | None:
    return session.scalars(select(Choice).where(Choice.pair_id == pair_id)).one_or_none()


def _keep(change: Change, row: Choice, what: str, before: Fields | None, *, deleted: bool) -> None:
    row.at, row.by = change.at, change.who
    row.deleted_at = change.at if deleted else None
    change.session.flush()
    after = None if deleted else said(row)
    if before is not None and after is not None:
        # The documents are large: only what changed is told twice.
        changed = {name for name in after if after[name] != before[name]}
        before = {name: before[name] for name in changed}
        after = {name: after[name] for name in changed}
    change.record("choice", row.pair_id, what, before, after, version=row.version)
    figures.refresh(change.session, row.pair_id)


def said(row: Choice) -> Fields:
    """What a choice says, as `keep_choice` takes it."""
    names = ("outline", "opening", "placing", "settings", "document", "made_on")
    return {name: getattr(row, name) for name in names}
