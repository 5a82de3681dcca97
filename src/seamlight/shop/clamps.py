"""What is in the clamps, and what rests after it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.clocks import GlueClock, glue_clock
from seamlight.shop.glues import SETTING_KEY, Glue, glues_from
from seamlight.shop.numbered import row_of
from seamlight.shop.settings import setting
from seamlight.shop.tables import Build, Clamp, Pair

EARLIEST = timedelta(days=60)  # a glue-up noted later than this after the deed is a slip of the pen


def shop_glues(session: Session) -> tuple[Glue, ...]:
    """The glues to choose from, the shop's own figures in them."""
    return glues_from(setting(session, SETTING_KEY))


def start_clamps(
    change: Change,
    glue: Glue,
    *,
    pair_ids: Iterable[int] = (),
    build_id: int | None = None,
    what: str = "centre joint",
    glued_at: datetime | None = None,
    temp_c: float | None = None,
    rh_pct: float | None = None,
) -> list[Clamp]:
    """Note that something went into the clamps; each pair gets its own line.

    Args:
        change: the change it belongs to.
        glue: with the shop's own figures, as `shop_glues` gives it.
        pair_ids: the pairs; or
        build_id: the instrument it belongs to.
        what: the joint in a few words.
        glued_at: UTC; now where it isn't said.
        temp_c, rh_pct: the air.

    Raises:
        Mistake: nothing was named, a pair is in the clamps already, or the time cannot be.
    """
    at = _glued_at(change, glued_at)
    clock = glue_clock(glue, at, temp_c=temp_c, rh_pct=rh_pct)
    said = " ".join(what.split())[:80] or "glue joint"
    subjects: list[Pair | Build] = [
        kept.find(change.session, Pair, number) for number in dict.fromkeys(pair_ids)
    ]
    if build_id is not None:
        subjects.append(kept.find(change.session, Build, build_id))
    if not subjects:
        raise Mistake("nothing was put into the clamps", where="pairs", do="tick the pairs")
    rows = []
    for subject in subjects:
        _check_free(change.session, subject, said)
        is_pair = isinstance(subject, Pair)
        row = Clamp(
            pair_id=subject.id if is_pair else None,
            build_id=None if is_pair else subject.id,
            what=said,
            glue_key=glue.key,
            at=at,
            off_at=clock.off_at,
            work_at=clock.work_at,
            temp_c=temp_c,
            rh_pct=rh_pct,
            by=change.who,
        )
        change.session.add(row)
        change.session.flush()
        after = {"clamp": row.id, "what": said, "glue": glue.key, "off_at": clock.off_at}
        change.record(kept.subject_of(subject), subject.id, "into the clamps", None, after)
        rows.append(row)
    return rows


def _glued_at(change: Change, glued_at: datetime | None) -> datetime:
    at = glued_at or change.at
    if not change.at - EARLIEST <= at <= change.at + timedelta(minutes=5):
        raise Mistake("that is not when it was glued", where="glued_at", do="write when the clamps closed")
    return at


def _check_free(session: Session, subject: Pair | Build, what: str) -> None:
    """A pair's one joint is not glued twice at once; an instrument may have several things in clamps."""
    if not isinstance(subject, Pair):
        return
    taken = select(Clamp).where(Clamp.pair_id == subject.id, Clamp.ended_at.is_(None), Clamp.what == what)
    if session.scalars(taken).first() is not None:
        raise Mistake(f"{subject.label} is in the clamps already", where="pairs", do="take it out first")


def end_clamps(change: Change, clamp_ids: Iterable[int]) -> list[Clamp]:
    """Note that things left the clamps; what had left already is left as it is.

    Raises:
        Mistake: no such line.
    """
    rows = []
    for number in dict.fromkeys(clamp_ids):
        row = row_of(change.session, Clamp, number)
        if row is None:
            raise Mistake(f"there is no line {number} in the clamps", do="look at Today")
        if row.ended_at is not None:
            continue
        row.ended_at = change.at
        subject, subject_id = ("pair", row.pair_id) if row.pair_id is not None else ("build", row.build_id)
        assert subject_id is not None
        early = row.ended_at < row.off_at
        after = {"clamp": row.id, "ended_at": row.ended_at, "early": early}
        change.record(subject, subject_id, "out of the clamps", None, after)
        rows.append(row)
    change.session.flush()
    return rows


def in_clamps(session: Session) -> list[Clamp]:
    """What is in the clamps, the first to leave first."""
    query = select(Clamp).where(Clamp.ended_at.is_(None))
    return list(session.scalars(query.order_by(Clamp.off_at, Clamp.id)))


def last_clamps(session: Session, pair_ids: Iterable[int]) -> dict[int, Clamp]:
    """The last glue-up of each pair that had one."""
    query = select(Clamp).where(Clamp.pair_id.in_(list(pair_ids))).order_by(Clamp.at, Clamp.id)
    return {row.pair_id: row for row in session.scalars(query) if row.pair_id is not None}


def clock_of(row: Clamp, glues: Iterable[Glue]) -> GlueClock | None:
    """The clock of a glue-up; None where its glue is no longer known.

    The promises made when the clamps closed stay; only the rest comes from the glue's figures of today.
    """
    for glue in glues:
        if glue.key == row.glue_key:
            clock = glue_clock(glue, row.at, temp_c=row.temp_c, rh_pct=row.rh_pct)
            return GlueClock(
                glued_at=clock.glued_at,
                off_earliest_at=min(clock.off_earliest_at, row.off_at),
                off_at=row.off_at,
                work_at=row.work_at,
                thickness_earliest_at=max(clock.thickness_earliest_at, row.work_at),
                thickness_at=max(clock.thickness_at, row.work_at),
                warnings=clock.warnings,
            )
    return None
