"""The rack: pairs filtered, sorted and cut into pages, with the figures that matter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal, get_args
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, and_, case, func, or_, select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.grade_rules import USES
from seamlight.shop.grading import shop_rules
from seamlight.shop.stages import STAGES
from seamlight.shop.tables import Pair, PairFigure, PairFit, PairPhoto
from seamlight.shop.zone import begins

Sort = Literal["label", "newest", "bought", "kind", "species", "stage", "spare", "lines", "grade"]
SORTS: tuple[str, ...] = get_args(Sort)
PER_PAGE_MOST = 500
SEARCHED = (
    Pair.label,
    Pair.species_common,
    Pair.species_botanical,
    Pair.supplier,
    Pair.lies_at,
    Pair.reserved_for,
    Pair.notes,
)


@dataclass(frozen=True)
class RackQuery:
    """What is looked for; None and "" ask nothing. `fits` names an outline whose layout must fit."""

    kind: str | None = None
    species_key: str | None = None
    stage: str | None = None
    grade: str | None = None
    text: str = ""
    fits: str | None = None
    spare_from_mm: float | None = None
    lines_from: float | None = None
    lines_to: float | None = None
    bought_from: date | None = None  # where nobody said when it was bought, the day it was taken in counts
    bought_to: date | None = None
    zone: ZoneInfo | None = None  # by whose clock a day begins; None: this computer's
    reserved: bool | None = None
    deleted: bool = False
    sort: str = "newest"
    down: bool = False
    page: int = 1
    per_page: int = 60


@dataclass(frozen=True)
class RackRow:
    """A pair, its figures where it was read, and its pictures by role (the newest of each).

    `fits` is one for each outline that it was laid out for, most room first; the one asked for before all.
    """

    pair: Pair
    figure: PairFigure | None
    pictures: dict[str, str]
    fits: tuple[PairFit, ...] = ()


@dataclass(frozen=True)
class RackPage:
    """One page of the rack; `total` counts all that were found."""

    rows: tuple[RackRow, ...]
    total: int
    page: int
    pages: int


def rack(session: Session, query: RackQuery = RackQuery()) -> RackPage:
    """One page of the rack.

    Raises:
        Mistake: it cannot be sorted so.
    """
    if query.sort not in SORTS:
        raise Mistake(f"{query.sort!r} is no order", where="sort", do=f"say one of {', '.join(SORTS)}")
    per_page = min(max(query.per_page, 1), PER_PAGE_MOST)
    conditions = _conditions(query)
    counted = select(func.count()).select_from(Pair)
    total = session.scalar(_joined(counted, query.fits).where(*conditions)) or 0
    pages = max(1, -(-total // per_page))
    page = min(max(query.page, 1), pages)
    order = _order(session, query)
    found = _joined(select(Pair, PairFigure), query.fits).where(*conditions).order_by(*order)
    rows = session.execute(found.offset((page - 1) * per_page).limit(per_page)).all()
    numbers = [pair.id for pair, _ in rows]
    pictures, fits = _pictures(session, numbers), _fits(session, numbers, query.fits)
    return RackPage(
        rows=tuple(
            RackRow(pair, figure, pictures.get(pair.id, {}), tuple(fits.get(pair.id, ())))
            for pair, figure in rows
        ),
        total=total,
        page=page,
        pages=pages,
    )


def offered(session: Session) -> dict[str, list[str]]:
    """What there is to filter by: the kinds, species, stages, grades and outlines of live pairs."""
    live = Pair.deleted_at.is_(None)
    columns: dict[str, Any] = {
        "kind": Pair.kind,
        "species_key": Pair.species_key,
        "stage": Pair.stage,
        "grade": PairFigure.grade,
    }
    lists = {
        name: sorted(v for v in session.scalars(_joined(select(column)).where(live).distinct()) if v)
        for name, column in columns.items()
    }
    lists["stage"].sort(key=STAGES.index)
    places: dict[str, int] = {}
    for use, place, name in _grades(session):
        if use in lists["kind"]:
            places.setdefault(name, place)
    lists["grade"].sort(key=lambda name: places.get(name, len(places)))
    fits = select(PairFit.outline).join(Pair, Pair.id == PairFit.pair_id).where(live, PairFit.fits)
    return {**lists, "fits": sorted(session.scalars(fits.distinct()))}


def _joined(query: Any, fits: str | None = None) -> Any:
    """With each pair's figures; with those for one outline where it is asked for."""
    joined = query.select_from(Pair).outerjoin(PairFigure, PairFigure.pair_id == Pair.id)
    if not fits:
        return joined
    return joined.outerjoin(PairFit, and_(PairFit.pair_id == Pair.id, PairFit.outline == fits))


def _room(query: RackQuery) -> Any:
    """The least room: in the outline asked for, else in the one chosen or the best."""
    if not query.fits:
        return PairFigure.spare_mm
    at_ends = and_(PairFit.end_spare_mm.is_not(None), PairFit.end_spare_mm < PairFit.spare_mm)
    return case((at_ends, PairFit.end_spare_mm), else_=PairFit.spare_mm)


def _grades(session: Session) -> list[tuple[str, int, str]]:
    """The shop's grades, best first: for a top or a back, its place, its name."""
    rules = shop_rules(session)
    return [(use, place, name) for use in USES for place, name in enumerate(rules.names(use))]


def _conditions(query: RackQuery) -> list[ColumnElement[bool]]:
    asked: list[ColumnElement[bool]] = [
        Pair.deleted_at.is_not(None) if query.deleted else Pair.deleted_at.is_(None)
    ]
    exact = (
        (Pair.kind, query.kind),
        (Pair.species_key, query.species_key),
        (Pair.stage, query.stage),
        (PairFigure.grade, query.grade),
    )
    asked += [column == wanted for column, wanted in exact if wanted]
    for word in query.text.split():
        asked.append(or_(*(column.icontains(word, autoescape=True) for column in SEARCHED)))
    if query.fits:
        asked.append(PairFit.fits.is_(True))
    if query.spare_from_mm is not None:
        asked.append(_room(query) >= query.spare_from_mm)
    if query.lines_from is not None:
        asked.append(PairFigure.lines_per_inch >= query.lines_from)
    if query.lines_to is not None:
        asked.append(PairFigure.lines_per_inch <= query.lines_to)
    unsaid = Pair.bought_on.is_(None)
    if query.bought_from is not None:
        asked.append(
            or_(
                Pair.bought_on >= query.bought_from,
                and_(unsaid, Pair.created_at >= begins(query.bought_from, query.zone)),
            )
        )
    if query.bought_to is not None:
        after = begins(query.bought_to + timedelta(days=1), query.zone)
        asked.append(or_(Pair.bought_on <= query.bought_to, and_(unsaid, Pair.created_at < after)))
    if query.reserved is not None:
        asked.append(Pair.reserved_for.is_not(None) if query.reserved else Pair.reserved_for.is_(None))
    return asked


def _order(session: Session, query: RackQuery) -> list[Any]:
    """T2 before T10; what was not read or said comes last either way.

    Stages go as the work goes, grades from the shop's best down.
    """
    label = (func.length(Pair.label_key), Pair.label_key)
    newest_first = query.sort in ("newest", "bought", "spare", "lines")
    if query.sort == "label":
        return [part.desc() if query.down else part for part in label]
    grades = [
        (and_(Pair.kind == use, PairFigure.grade == name), place) for use, place, name in _grades(session)
    ]
    columns: dict[str, Any] = {
        "newest": Pair.id,
        "bought": Pair.bought_on,
        "kind": Pair.kind,
        "species": Pair.species_common,
        "stage": case({stage: place for place, stage in enumerate(STAGES)}, value=Pair.stage),
        "spare": _room(query),
        "lines": PairFigure.lines_per_inch,
        "grade": case(*grades),
    }
    column = columns[query.sort]
    falling = newest_first != query.down
    return [(column.desc() if falling else column.asc()).nulls_last(), *label]


def _pictures(session: Session, pair_ids: list[int]) -> dict[int, dict[str, str]]:
    live = select(PairPhoto.pair_id, PairPhoto.role, PairPhoto.file_sha256).where(
        PairPhoto.pair_id.in_(pair_ids), PairPhoto.deleted_at.is_(None)
    )
    found: dict[int, dict[str, str]] = {}
    for pair_id, role, sha in session.execute(live.order_by(PairPhoto.id)):
        found.setdefault(pair_id, {})[role] = sha
    return found


def _fits(session: Session, pair_ids: list[int], first: str | None) -> dict[int, list[PairFit]]:
    rows = select(PairFit).where(PairFit.pair_id.in_(pair_ids))
    found: dict[int, list[PairFit]] = {}
    for row in session.scalars(rows.order_by(PairFit.spare_mm.desc().nulls_last(), PairFit.outline)):
        found.setdefault(row.pair_id, []).append(row)
    return {number: sorted(rows, key=lambda row: row.outline != first) for number, rows in found.items()}
