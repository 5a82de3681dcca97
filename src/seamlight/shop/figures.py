"""The figures a rack is sorted and filtered by, taken from what is kept of a pair."""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from seamlight.layout.spare_words import least_room
from seamlight.shop.grading import grade_name
from seamlight.shop.tables import Choice, PairFigure, PairFit, Reading


def refresh(session: Session, pair_id: int) -> PairFigure:
    """Take a pair's figures anew from its newest readings and its choice, its grade by the shop's rules."""
    live = select(Reading).where(
        Reading.pair_id == pair_id, Reading.deleted_at.is_(None), Reading.verb.in_(("read", "layout"))
    )
    leaves: dict[str, Reading] = {}
    layouts: dict[str, Reading] = {}
    for row in session.scalars(live.order_by(Reading.id)):
        if row.verb == "read":
            leaves[str(row.says.get("leaf"))] = row
        else:
            layouts[outline_of(row)] = row
    _fits(session, pair_id, layouts)
    figure = _figure(session, pair_id, [row.document for row in leaves.values()])
    figure.grade = grade_name(session, pair_id)
    return figure


def outline_of(layout: Reading) -> str:
    """Which outline a layout was made for: as `says` names it, else by the document."""
    said = layout.says.get("outline")
    if isinstance(said, dict):
        said = said.get("name") or said.get("file")
    return str(said or layout.document.get("outline", {}).get("name", ""))


def _fits(session: Session, pair_id: int, layouts: dict[str, Reading]) -> None:
    session.execute(delete(PairFit).where(PairFit.pair_id == pair_id))
    for outline, row in layouts.items():
        best = next(iter(row.document.get("openings", [])), None)
        if outline and best is not None:
            fits = PairFit(
                pair_id=pair_id,
                outline=outline,
                fits=bool(best.get("fits")),
                spare_mm=best.get("spare_mm"),
                end_spare_mm=best.get("end_spare_mm"),
                reading_id=row.id,
            )
            session.add(fits)
    session.flush()


def _figure(session: Session, pair_id: int, leaves: list[dict[str, Any]]) -> PairFigure:
    figure = _row(session, pair_id)
    choice = session.scalars(
        select(Choice).where(Choice.pair_id == pair_id, Choice.deleted_at.is_(None))
    ).one_or_none()
    rooms = [_room(choice)] if choice else _rooms(session, pair_id)
    known = [room for room in rooms if room is not None]
    figure.spare_mm, figure.spare_outline = max(known, default=(None, None))
    figure.length_mm = _least(leaves, "length_mm")
    figure.width_mm = _least(leaves, "width_end1_mm", "width_end2_mm")
    figure.lines_per_inch = _mean_lines(leaves)
    session.flush()
    return figure


def _row(session: Session, pair_id: int) -> PairFigure:
    figure = session.get(PairFigure, pair_id)
    if figure is None:
        figure = PairFigure(pair_id=pair_id)
        session.add(figure)
        session.flush()
    return figure


def _room(choice: Choice) -> tuple[float, str] | None:
    """The least room of a choice, and the outline chosen."""
    spare, ends = choice.document.get("spare_mm"), choice.document.get("end_spare_mm")
    if spare is None:
        return None
    return least_room(float(spare), ends)[0], str(choice.outline.get("name") or choice.outline.get("file"))


def _rooms(session: Session, pair_id: int) -> list[tuple[float, str] | None]:
    """The least room in each outline that the pair was laid out for."""
    rows = session.scalars(select(PairFit).where(PairFit.pair_id == pair_id))
    return [
        (least_room(row.spare_mm, row.end_spare_mm)[0], row.outline)
        for row in rows
        if row.spare_mm is not None
    ]


def _least(leaves: list[dict[str, Any]], *names: str) -> float | None:
    found = (leaf.get("leaf", {}).get(name) for leaf in leaves for name in names)
    return min((float(figure) for figure in found if figure is not None), default=None)


def _mean_lines(leaves: list[dict[str, Any]]) -> float | None:
    """The plain mean over both leaves' thirds; those inside an outline are in the layout."""
    thirds = (leaf.get("grain", {}).get("lines_per_inch", {}) for leaf in leaves)
    found = [float(figure) for third in thirds for figure in third.values() if figure is not None]
    return sum(found) / len(found) if found else None
