"""The bench as JSON: what can be done now, stages, wanted instruments, the matching."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from seamlight.shop.bench_now import bench_now
from seamlight.shop.builds import KindWishes, all_given, builds, wishes_of
from seamlight.shop.match_builds import Plan
from seamlight.shop.match_short import shopping_list
from seamlight.shop.matching import match_shop, outline_key
from seamlight.shop.shop import Shop
from seamlight.shop.stages import Stage, move
from seamlight.web.access import Asks
from seamlight.web.render import house_of

router = APIRouter(prefix="/api", tags=["bench"])

Number = Annotated[int, Field(ge=1, le=2**31 - 1)]


class JobPart(BaseModel):
    """One thing to do and the pairs that are ready for it; `then` is their stage afterwards."""

    key: str
    title: str
    then: str | None
    pairs: list[int]


class ClampPart(BaseModel):
    """One thing in the clamps; times UTC."""

    id: int
    pair_id: int | None
    build_id: int | None
    what: str
    glue: str
    since: datetime
    off_at: datetime
    work_at: datetime


class WaitPart(BaseModel):
    """A pair that has to wait."""

    pair_id: int
    for_what: str
    until: datetime | None


class BenchPart(BaseModel):
    """The bench at one moment."""

    now: list[JobPart]
    clamps: list[ClampPart]
    waiting: list[WaitPart]


class MovePart(BaseModel):
    """Pairs to be put at a stage, all or none."""

    pairs: list[Number] = Field(min_length=1, max_length=500)
    stage: Stage


class MovedPart(BaseModel):
    """The pairs that were not there already."""

    moved: list[int]


class GivenPart(BaseModel):
    """A pair given to a part of an instrument."""

    part: str
    pair_id: int
    locked: bool


class BuildPart(BaseModel):
    """A wanted instrument."""

    id: int
    label: str
    for_whom: str | None
    outline: str
    want_by: date | None
    wishes: KindWishes
    given: list[GivenPart]


class PlacePart(BaseModel):
    """A pair that the matching gives to a part of an instrument, and why."""

    build_id: int
    part: str
    pair_id: int
    points: float
    locked: bool
    reasons: list[str]


class ShortPart(BaseModel):
    """A wish that gets nothing."""

    build_id: int
    part: str
    why: str
    near: list[str]


class MatchPart(BaseModel):
    """The best assignment of the rack, what it leaves short, and the best of all others."""

    best: list[PlacePart]
    complete: int
    short: list[ShortPart]
    buy: list[str]
    second: list[PlacePart] | None
    difference: str


@router.get("/bench")
def bench(request: Request) -> BenchPart:
    """What can be done now, what is in the clamps, what waits."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = bench_now(session, shop.clock())
    jobs = [
        JobPart(key=job.key, title=job.title, then=job.then, pairs=[piece.pair_id for piece in job.pieces])
        for job in found.bench.now
    ]
    clamps = [
        ClampPart(
            id=one.row.id,
            pair_id=one.row.pair_id,
            build_id=one.row.build_id,
            what=one.row.what,
            glue=one.row.glue_key,
            since=one.row.at,
            off_at=one.row.off_at,
            work_at=one.row.work_at,
        )
        for one in found.clamps
    ]
    waiting = [
        WaitPart(pair_id=wait.piece.pair_id, for_what=wait.for_what, until=wait.until)
        for wait in found.bench.waiting
    ]
    return BenchPart(now=jobs, clamps=clamps, waiting=waiting)


@router.post("/stages", responses={403: {}, 404: {}, 422: {}})
def stages(request: Request, asker: Asks, wanted: MovePart) -> MovedPart:
    """Put pairs at a stage, all or none."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        return MovedPart(moved=[row.id for row in move(change, wanted.pairs, wanted.stage)])


@router.get("/builds")
def wanted_builds(request: Request) -> list[BuildPart]:
    """Wanted instruments, the soonest wanted first."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        given: dict[int, list[GivenPart]] = {}
        for row in all_given(session):
            part = GivenPart(part=row.part, pair_id=row.pair_id, locked=row.locked)
            given.setdefault(row.build_id, []).append(part)
        return [
            BuildPart(
                id=row.id,
                label=row.label,
                for_whom=row.for_whom,
                outline=outline_key(row.outline),
                want_by=row.want_by,
                wishes=wishes_of(row),
                given=given.get(row.id, []),
            )
            for row in builds(session)
        ]


@router.get("/match", responses={422: {}})
def match(request: Request) -> MatchPart:
    """The best assignment of everything on the rack to everything wanted."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = match_shop(session, house_of(request).unit)
    return MatchPart(
        best=_places(found.best),
        complete=found.best.complete,
        short=[
            ShortPart(build_id=one.wish.build_id, part=one.wish.part, why=one.text, near=list(one.near))
            for one in found.shortages
        ],
        buy=list(shopping_list(found.shortages)),
        second=_places(found.second) if found.second else None,
        difference=found.difference,
    )


def _places(plan: Plan) -> list[PlacePart]:
    return [
        PlacePart(
            build_id=one.wish.build_id,
            part=one.wish.part,
            pair_id=one.offer.pair_id,
            points=one.points,
            locked=one.locked,
            reasons=list(one.reasons),
        )
        for one in plan.given
    ]
