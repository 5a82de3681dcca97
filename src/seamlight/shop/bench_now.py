"""The bench as it stands in the shop: pieces, clamps, what waits, what was done today, the air."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from seamlight.shop.air import newest_air
from seamlight.shop.bench import Bench, Piece, bench
from seamlight.shop.builds import PARTS, all_given, builds, wishes_of
from seamlight.shop.choices import choices
from seamlight.shop.clamps import clock_of, in_clamps, last_clamps, shop_glues
from seamlight.shop.glues import Glue
from seamlight.shop.joint_glue import joint_glue
from seamlight.shop.stages import last_moves, pairs_under_way
from seamlight.shop.tables import Air, Assignment, Build, Clamp, Pair, StageEvent
from seamlight.timber.air import GlueWeather, glue_weather

AIR_GOOD_FOR = timedelta(hours=12)
DONE_SHOWN = timedelta(hours=16)  # a working day back, whatever the zone


@dataclass(frozen=True)
class InClamps:
    """One thing in the clamps; `label` names the pair or the instrument."""

    row: Clamp
    label: str
    glue: str
    may_come_out: bool


@dataclass(frozen=True)
class WantsWood:
    """An instrument that still waits for wood, and for which parts."""

    build: Build
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Done:
    """A step that was taken lately, and the stage it came from."""

    event: StageEvent
    label: str
    before: str


@dataclass(frozen=True)
class Look:
    """The latest look at the hygrometer, and what it means for gluing; `old` where it says little of now."""

    air: Air
    weather: GlueWeather | None
    old: bool


@dataclass(frozen=True)
class BenchNow:
    """Everything that Today shows."""

    bench: Bench
    clamps: tuple[InClamps, ...]
    wants: tuple[WantsWood, ...]
    done: tuple[Done, ...]
    look: Look | None
    glues: tuple[Glue, ...]
    pairs: int  # on the rack, of any stage
    rough: int


def bench_now(session: Session, now: datetime) -> BenchNow:
    """Look at the bench."""
    glues = shop_glues(session)
    given = {row.pair_id: row for row in all_given(session)}
    live_builds = {row.id: row for row in builds(session)}
    chosen = set(choices(session))
    pairs = _pieces(session, {*given, *chosen})
    clamps = in_clamps(session)
    pieces = _as_pieces(session, pairs, given, live_builds, clamps, glues, chosen)
    return BenchNow(
        bench=bench(pieces, now),
        clamps=tuple(_shown(session, row, glues, now) for row in clamps),
        wants=tuple(_wants(session, list(live_builds.values()), given)),
        done=tuple(_done(session, now)),
        look=_look(session, now),
        glues=glues,
        pairs=_count(session),
        rough=_count(session, "rough"),
    )


def _pieces(session: Session, begun: set[int]) -> list[Pair]:
    """Pairs under way, and rough ones that an instrument waits for or somebody chose an opening of."""
    rough = select(Pair).where(Pair.deleted_at.is_(None), Pair.stage == "rough", Pair.id.in_(begun))
    return [*pairs_under_way(session), *session.scalars(rough.order_by(Pair.id))]


def _as_pieces(
    session: Session,
    pairs: list[Pair],
    given: dict[int, Assignment],
    live: dict[int, Build],
    clamps: list[Clamp],
    glues: tuple[Glue, ...],
    chosen: set[int],
) -> list[Piece]:
    numbers = [pair.id for pair in pairs]
    moves, glued = last_moves(session, numbers), last_clamps(session, numbers)
    inside = {row.pair_id: row for row in clamps if row.pair_id is not None}
    found = []
    for pair in pairs:
        clamp = inside.get(pair.id) or glued.get(pair.id)
        held = inside.get(pair.id)
        owner = live.get(given[pair.id].build_id) if pair.id in given else None
        found.append(
            Piece(
                pair_id=pair.id,
                label=pair.label,
                kind=pair.kind,
                stage=pair.stage,
                wood=pair.species_common or "",
                since=moves[pair.id].at if pair.id in moves else None,
                build=owner.label if owner else "",
                clock=clock_of(clamp, glues) if clamp else None,
                clamp_id=held.id if held else None,
                chosen=pair.id in chosen,
            )
        )
    return found


def _shown(session: Session, row: Clamp, glues: tuple[Glue, ...], now: datetime) -> InClamps:
    thing = session.get(Pair, row.pair_id) if row.pair_id is not None else session.get(Build, row.build_id)
    name = next((glue.name for glue in glues if glue.key == row.glue_key), row.glue_key)
    return InClamps(row, thing.label if thing else "?", name, now >= row.off_at)


def _wants(session: Session, live: list[Build], given: dict[int, Assignment]) -> list[WantsWood]:
    has = {(row.build_id, row.part) for row in given.values()}
    found = []
    for build in live:
        wishes = wishes_of(build)
        parts = tuple(p for p in PARTS if wishes.of(p) is not None and (build.id, p) not in has)
        if parts:
            found.append(WantsWood(build, parts))
    return found


def _done(session: Session, now: datetime) -> list[Done]:
    """The last step of each pair, where it was taken lately: only that one can be put back."""
    lately = session.scalars(select(StageEvent).where(StageEvent.at > now - DONE_SHOWN))
    numbers = {event.pair_id for event in lately}
    found = []
    for number, event in last_moves(session, numbers).items():
        pair = session.get(Pair, number)
        if pair is None or pair.deleted_at is not None or pair.stage != event.stage:
            continue
        earlier = select(StageEvent.stage).where(StageEvent.pair_id == number, StageEvent.id < event.id)
        before = session.scalars(earlier.order_by(StageEvent.id.desc()).limit(1)).first()
        found.append(Done(event, pair.label, before or "rough"))
    return sorted(found, key=lambda one: one.event.id, reverse=True)


def _look(session: Session, now: datetime) -> Look | None:
    air = newest_air(session)
    if air is None:
        return None
    weather = None
    if air.temp_c is not None and air.rh_pct is not None:
        weather = glue_weather(air.temp_c, air.rh_pct, joint_glue(session))
    return Look(air, weather, now - air.at > AIR_GOOD_FOR)


def _count(session: Session, stage: str | None = None) -> int:
    query = select(func.count()).select_from(Pair).where(Pair.deleted_at.is_(None))
    return session.scalar(query.where(Pair.stage == stage) if stage else query) or 0
