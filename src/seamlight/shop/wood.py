"""Pairs: new, edited, deleted, brought back, found."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Literal, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.tables import Pair
from seamlight.shop.texts import check_texts

Kind = Literal["top", "back", "sides", "neck", "fingerboard", "brace stock", "other"]
KINDS: tuple[str, ...] = get_args(Kind)
LETTER = {
    "top": "T",
    "back": "B",
    "sides": "S",
    "neck": "N",
    "fingerboard": "F",
    "brace stock": "R",
    "other": "W",
}
LABEL_LONGEST = 24
LONGEST = {
    "species_key": 80,
    "species_common": 80,
    "species_botanical": 120,
    "supplier": 120,
    "currency": 8,
    "lies_at": 120,
    "reserved_for": 80,
    "notes": 4000,
    "grade_by_eye": 80,
    "scale_spec": 60,
}
EDITED_ELSEWHERE = frozenset({"label_key", "deleted_at"})


def new_pair(change: Change, *, kind: str, label: str | None = None, **fields: Any) -> Pair:
    """A new pair; without a label it gets the next free one of its kind, such as T12.

    Args:
        change: the change it belongs to.
        kind: one of `KINDS`.
        label: short, the shop's own.
        **fields: any other column of a pair.

    Raises:
        Mistake: the label is taken, empty or too long, or there is no such kind.
    """
    label = _label(label) if label else next_label(change.session, kind)
    values = _checked({"kind": kind, "label": label, **fields})
    _check_free(change.session, label, None)
    return kept.make(change, Pair(label_key=label_key(label), **values))


def edit_pair(
    change: Change, pair_id: int, values: Mapping[str, Any], *, expected_version: int | None = None
) -> Pair:
    """Give a pair's fields new values.

    Args:
        change: the change it belongs to.
        pair_id: its number.
        values: by column name.
        expected_version: the version the person was looking at.

    Raises:
        Conflict: someone else changed it since; nothing is overwritten.
        Mistake: no such pair, or a value that cannot be.
    """
    found = kept.find(change.session, Pair, pair_id)
    wanted = _checked(dict(values))
    if "label" in wanted:
        wanted["label"] = _label(wanted["label"])
        wanted["label_key"] = label_key(wanted["label"])
        _check_free(change.session, wanted["label"], pair_id)
    kept.edit(change, found, wanted, expected_version=expected_version)
    return found


def delete_pair(change: Change, pair_id: int, *, expected_version: int | None = None) -> Pair:
    """Put a pair among the recently deleted; its label stays its own until it is gone for good."""
    found = kept.find(change.session, Pair, pair_id)
    kept.delete(change, found, expected_version=expected_version)
    return found


def bring_back(change: Change, pair_id: int) -> Pair:
    """Bring a deleted pair back, with everything that belongs to it."""
    found = kept.find(change.session, Pair, pair_id, deleted=True)
    kept.bring_back(change, found)
    return found


def pair(session: Session, pair_id: int, *, deleted: bool = False) -> Pair:
    """The pair of that number.

    Raises:
        Mistake: there is none, or it was deleted and `deleted` does not allow that.
    """
    return kept.find(session, Pair, pair_id, deleted=deleted)


def pair_by_label(session: Session, label: str) -> Pair | None:
    """The pair that carries a label, whatever its case and spaces; None where none does."""
    query = select(Pair).where(Pair.label_key == label_key(label), Pair.deleted_at.is_(None))
    return session.scalars(query).one_or_none()


def label_key(label: str) -> str:
    """What makes two labels the same: "T 12" and "t12" are."""
    return "".join(label.split()).casefold()


def next_label(session: Session, kind: str) -> str:
    """The next free label of a kind: its letter and a number above all others."""
    letter = LETTER.get(kind, "W")
    keys = session.scalars(select(Pair.label_key).where(Pair.label_key.startswith(letter.lower())))
    numbers = (re.fullmatch(rf"{letter.lower()}(\d{{1,9}})", key) for key in keys)
    return f"{letter}{max((int(found[1]) for found in numbers if found), default=0) + 1}"


def _label(label: str) -> str:
    said = " ".join(str(label).split())
    if not said or len(said) > LABEL_LONGEST:
        raise Mistake(f"a label has 1 to {LABEL_LONGEST} letters", where="label", do="write a short one")
    return said


def _check_free(session: Session, label: str, own: int | None) -> None:
    taken = session.scalars(select(Pair).where(Pair.label_key == label_key(label))).one_or_none()
    if taken is None or taken.id == own:
        return
    by = "a deleted pair; bring it back, or" if taken.deleted_at else f"the {taken.kind} {taken.label};"
    raise Mistake(f"{label} is the label of {by} write another", where="label")


def _checked(values: dict[str, Any]) -> dict[str, Any]:
    known = {column.key for column in Pair.__table__.columns} - kept.OWN - EDITED_ELSEWHERE
    unknown = sorted(set(values) - known)
    if unknown:
        raise Mistake(f"a pair has no {unknown[0]}", do=f"name one of {', '.join(sorted(known))}")
    if "kind" in values and values["kind"] not in KINDS:
        raise Mistake(
            f"{values['kind'][:40]!r} is no kind", where="kind", do=f"say one of {', '.join(KINDS)}"
        )
    check_texts(values, LONGEST)
    for name in ("thickness_mm", "price_minor"):
        if values.get(name) is not None and not 0 <= values[name] < 1e9:
            raise Mistake("cannot be less than nothing", where=name, do="write it again")
    return values
