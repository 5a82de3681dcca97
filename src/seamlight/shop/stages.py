"""How far a pair has come: its stage, when it got there and by whom; many pairs in one change."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.tables import Pair, StageEvent

Stage = Literal["rough", "laid out", "jointed", "joined", "rested", "thicknessed", "used"]
STAGES: tuple[str, ...] = get_args(Stage)
UNDER_WAY = STAGES[1:6]


def move(change: Change, pair_ids: Iterable[int], stage: str, *, note: str | None = None) -> list[Pair]:
    """Put pairs at a stage, all of them or none; those there already are left as they are.

    A stage may be skipped or gone back to: the person at the bench knows. The history keeps every step.

    Args:
        change: the change it belongs to.
        pair_ids: the pairs; a number twice counts once.
        stage: one of `STAGES`.
        note: a few words for the record.

    Returns:
        The pairs that moved.

    Raises:
        Mistake: no such stage or pair, or no pair was named.
    """
    check_stage(stage)
    numbers = list(dict.fromkeys(pair_ids))
    if not numbers:
        raise Mistake("no pair was ticked", where="pairs", do="tick the pairs that were done")
    moved = []
    for number in numbers:
        found = kept.find(change.session, Pair, number)
        if kept.edit(change, found, {"stage": stage}, what=f"now {stage}"):
            change.session.add(
                StageEvent(pair_id=number, stage=stage, at=change.at, by=change.who, note=note or None)
            )
            moved.append(found)
    change.session.flush()
    return moved


def check_stage(stage: str) -> None:
    """Raises a Mistake where there is no such stage."""
    if stage not in STAGES:
        raise Mistake(f"{stage!r} is no stage", where="stage", do=f"say one of {', '.join(STAGES)}")


def next_stage(stage: str) -> str | None:
    """The stage after this one; None after the last."""
    check_stage(stage)
    at = STAGES.index(stage) + 1
    return STAGES[at] if at < len(STAGES) else None


def stage_events(session: Session, pair_id: int) -> list[StageEvent]:
    """Every stage a pair reached, oldest first."""
    query = select(StageEvent).where(StageEvent.pair_id == pair_id)
    return list(session.scalars(query.order_by(StageEvent.id)))


def last_moves(session: Session, pair_ids: Iterable[int]) -> dict[int, StageEvent]:
    """The last step of each pair that took one."""
    newest = (
        select(func.max(StageEvent.id))
        .where(StageEvent.pair_id.in_(list(pair_ids)))
        .group_by(StageEvent.pair_id)
    )
    return {row.pair_id: row for row in session.scalars(select(StageEvent).where(StageEvent.id.in_(newest)))}


def pairs_under_way(session: Session) -> list[Pair]:
    """Live pairs that were begun and are not used up, T2 before T10."""
    query = select(Pair).where(Pair.deleted_at.is_(None), Pair.stage.in_(UNDER_WAY))
    return list(session.scalars(query.order_by(func.length(Pair.label_key), Pair.label_key)))
