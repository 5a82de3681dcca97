"""What is measured over time at a pair: its weights, and the wood planed off its joint edges."""

from __future__ import annotations

import math

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.tables import Pair, Planed, Weight

LEAVES = ("a", "b", "both")


def weigh(change: Change, pair_id: int, leaf: str, grams: float) -> Weight:
    """Note a weight.

    Raises:
        Mistake: no such pair or leaf, or nothing that can be weighed.
    """
    _check(change.session, pair_id, leaf, "grams", grams)
    row = Weight(pair_id=pair_id, leaf=leaf, grams=grams, at=change.at, by=change.who)
    change.session.add(row)
    change.record("pair", pair_id, "weighed", None, {"leaf": leaf, "grams": grams})
    return row


def weights(session: Session, pair_id: int) -> list[Weight]:
    """A pair's weights, oldest first."""
    return list(session.scalars(select(Weight).where(Weight.pair_id == pair_id).order_by(Weight.id)))


def plane(change: Change, pair_id: int, leaf: str, mm: float, *, note: str | None = None) -> Planed:
    """Note wood planed off; "both" is that much off each leaf. A negative figure takes back too much noted.

    Raises:
        Mistake: no such pair or leaf, or more taken back than was noted.
    """
    so_far = planed_so_far(change.session, pair_id)
    leaves = ("a", "b") if leaf == "both" else (leaf,)
    least = -min(so_far.get(name, 0.0) for name in leaves)
    _check(change.session, pair_id, leaf, "mm", mm, least=least)
    row = Planed(pair_id=pair_id, leaf=leaf, mm=mm, note=note, at=change.at, by=change.who)
    change.session.add(row)
    change.record("pair", pair_id, "planed", None, {"leaf": leaf, "mm": mm})
    return row


def planed(session: Session, pair_id: int) -> list[Planed]:
    """What was planed off a pair, oldest first."""
    return list(session.scalars(select(Planed).where(Planed.pair_id == pair_id).order_by(Planed.id)))


def planed_so_far(session: Session, pair_id: int) -> dict[str, float]:
    """mm planed off each leaf's joint edge so far: {"a": mm, "b": mm}."""
    rows = planed(session, pair_id)
    return {leaf: round(sum(row.mm for row in rows if row.leaf in (leaf, "both")), 4) for leaf in ("a", "b")}


def _check(
    session: Session, pair_id: int, leaf: str, field: str, figure: float, *, least: float = 0.0
) -> None:
    kept.find(session, Pair, pair_id)
    if leaf not in LEAVES:
        raise Mistake(f"{leaf!r} is no leaf", where="leaf", do="say a, b or both")
    if not math.isfinite(figure) or figure < least - 1e-9:
        raise Mistake(f"{figure:g} cannot be", where=field, do=f"write {least:g} or more")
