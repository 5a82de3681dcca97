"""Which pairs are to be labelled, and on which side their joint edges lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from seamlight.layout.document import LeafPlacingPart
from seamlight.mistake import Mistake
from seamlight.shop.grading import insides
from seamlight.shop.readings import newest
from seamlight.shop.tables import Pair
from seamlight.shop.wood import pair_by_label

Side = Literal["left", "right"]


@dataclass(frozen=True)
class Sides:
    """Where each leaf's joint edge lies, its sawn face up and end 1 away."""

    a: Side
    b: Side


def pairs_named(session: Session, typed: str) -> list[Pair]:
    """Pairs by their labels, apart by commas or spaces; every live one where nothing is typed.

    Raises:
        Mistake: no pair has such a label.
    """
    words = typed.replace(",", " ").replace(";", " ").split()
    if not words:
        live = select(Pair).where(Pair.deleted_at.is_(None), Pair.stage != "used")
        return list(session.scalars(live.order_by(func.length(Pair.label_key), Pair.label_key)))
    found = []
    for word in dict.fromkeys(words):
        row = pair_by_label(session, word)
        if row is None:
            raise Mistake(f"no pair is labelled {word!r}", where="pairs", do="write them like T4, T7")
        found.append(row)
    return found


def joint_sides(session: Session, pair_id: int) -> Sides | None:
    """The sides of the chosen opening's joint; None where nobody chose one.

    Leaf A's photograph shows its sawn face; leaf B's may show the other, and then left is right there.
    """
    inside = next((one for one in insides(session, pair_id).values() if one.chosen), None)
    if inside is None:
        return None
    layout = newest(session, "layout", pair_id=pair_id)
    pair = layout.document.get("pair", {}) if layout else {}
    a, b = _side(inside.opening.leaves.a), _side(inside.opening.leaves.b)
    if pair.get("b_shows") == "other":
        b = "left" if b == "right" else "right"
    return Sides(a, b)


def _side(placing: LeafPlacingPart) -> Side:
    joint = sum(x for x, _ in placing.joint_line_mm) / max(len(placing.joint_line_mm), 1)
    across = [x for x, _ in placing.outline_mm]
    return "left" if joint < (min(across) + max(across)) / 2 else "right"


def has_leaves(pair: Pair) -> bool:
    """Whether it is two leaves of one billet; a neck blank or brace stock is not."""
    return pair.kind in ("top", "back", "sides")
