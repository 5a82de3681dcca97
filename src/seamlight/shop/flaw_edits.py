"""What a person said about the flaws of a leaf; it always wins over what was found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change, check_version
from seamlight.shop.made_on import pictures_read
from seamlight.shop.tables import Fields, FlawEdit, Pair

FaceName = Literal["a", "b", "other_a", "other_b"]
FACES: tuple[FaceName, ...] = get_args(FaceName)


def keep_flaw_edits(
    change: Change,
    pair_id: int,
    leaf: str,
    edits: Mapping[str, Any],
    *,
    boxes: Mapping[str, Any] | None = None,
    made_on: str | None = None,
    expected_version: int | None = None,
) -> FlawEdit:
    """Keep what was said about the flaws of one face of a leaf, in place of what was said before.

    Args:
        change: the change it belongs to.
        pair_id: the pair.
        leaf: a or b, as photographed; other_a or other_b, its other face, in the same leaf frame.
        edits: as `--flaws` takes them (`seamlight.grain.edits`), counted from that face's own.
        boxes: where the found flaws lie that are dropped or replaced (`flaws_meant.boxes_of`).
        made_on: hash of the photograph that it is said of; None: the one that was read last.
        expected_version: the version that was looked at; 0 where nothing had been said.

    Raises:
        Conflict: it was said otherwise meanwhile.
    """
    kept.find(change.session, Pair, pair_id)
    if leaf not in FACES:
        raise Mistake(f"{leaf!r} is no leaf", where="leaf", do=f"say one of {', '.join(FACES)}")
    row = flaw_edits(change.session, pair_id).get(leaf)
    subject = f"flaws {leaf}"
    made_on = made_on or pictures_read(change.session, pair_id).get(leaf)
    now = row.version if row else 0
    check_version(change, subject, pair_id, f"what was said about {face_words(leaf)}", now, expected_version)
    before = said(row) if row else None
    if row is None:
        row = FlawEdit(pair_id=pair_id, leaf=leaf, version=0)
        change.session.add(row)
    row.edits, row.version, row.at, row.by = dict(edits), now + 1, change.at, change.who
    row.made_on = made_on
    row.boxes = dict(boxes) if boxes else None
    change.session.flush()
    change.record(subject, pair_id, "flaws said", before, said(row), version=row.version)
    return row


def said(row: FlawEdit) -> Fields:
    """What a row says, as its history keeps it: the edits, and what they are bound to where that is known."""
    bound = {"made_on": row.made_on, "boxes": row.boxes}
    return {**row.edits, **{name: value for name, value in bound.items() if value}}


def face_words(face: str) -> str:
    """Such as `leaf A` or `the other face of leaf A`."""
    leaf = f"leaf {face[-1:].upper()}"
    return f"the other face of {leaf}" if face.startswith("other_") else leaf


def flaw_edits(session: Session, pair_id: int) -> dict[str, FlawEdit]:
    """What was said about each face's flaws, by `FaceName`; a face nobody spoke of is missing."""
    rows = session.scalars(select(FlawEdit).where(FlawEdit.pair_id == pair_id))
    return {row.leaf: row for row in rows}
