"""Today: the bench. What to do now, what is in the clamps and until when, what waits for what."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.bench_now import bench_now
from seamlight.shop.change import Change
from seamlight.shop.clamps import end_clamps, shop_glues, start_clamps
from seamlight.shop.clocks import left, shown
from seamlight.shop.glue_air import GlueAir, air_around, air_at_glue_up
from seamlight.shop.glues import glue_of
from seamlight.shop.shop import Shop
from seamlight.shop.stages import STAGES, move
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import rack_key
from seamlight.shop.wood import pair_by_label
from seamlight.shop.zone import ZONE as ZONE
from seamlight.shop.zone import shop_zone
from seamlight.units import show_temperature
from seamlight.web.access import Asks
from seamlight.web.render import again, go, house_of, page

router = APIRouter(include_in_schema=False)

JOINT = "centre joint"
MOST_SHOWN = 40
NOTHING = {
    "kind": "",
    "pairs": "",
    "stage": "jointed",
    "glue": "pva",
    "ago": "",
    "what": JOINT,
    "temp": "",
    "rh": "",
}


@router.get("/")
def show(request: Request) -> HTMLResponse:
    """The bench as it stands."""
    return page(request, "today.html", mistake=None, typed=NOTHING, **_facts(request))


def _facts(request: Request) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    now = shop.clock()
    with shop.read() as session:
        found = bench_now(session, now)
        zone = shop_zone(session)
        air = air_around(session, now)
    made = shop.made
    pieces = [piece for job in found.bench.now for piece in job.pieces]
    pictures = {p.pair_id: rack_key(p.pair_id) for p in pieces if made.path(rack_key(p.pair_id)).is_file()}
    here = now.astimezone(zone)
    return {
        "title": "Today",
        "place": "today",
        "day": f"{here:%A}, {here.day} {here:%B}",
        "found": found,
        "fresh_air": air,
        "ticked": (),
        "pictures": pictures,
        "most": MOST_SHOWN,
        "stages": [(stage, stage) for stage in STAGES],
        "glue_choices": [(glue.key, glue.name) for glue in found.glues],
        "at": lambda moment: shown(moment, now, zone),
        "left": lambda moment: left(moment, now),
    }


@router.post("/bench/stage")
def mark(
    request: Request,
    asker: Asks,
    stage: Annotated[str, Form()],
    pair: Annotated[list[int] | None, Form()] = None,
    glue: Annotated[str, Form()] = "",
    temp: Annotated[str, Form(max_length=60)] = "",
    rh: Annotated[str, Form(max_length=60)] = "",
    back: Annotated[str, Form(max_length=400)] = "",
) -> Response:
    """Put the ticked pairs at a stage, all in one; with a glue they go into the clamps as well."""
    shop: Shop = request.app.state.shop
    way = _way_back(request, back)
    in_air = ""
    try:
        with shop.change(asker.name) as change:
            moved = move(change, pair or [], stage)
            if glue and moved:
                air = _into_clamps(change, glue, [row.id for row in moved], temp=temp, rh=rh)
                in_air = f" {_air_said(request, air)}"
            labels = [row.label for row in moved]
    except Mistake as mistake:
        if way != "/":
            raise
        typed = NOTHING | {"kind": "join" if stage == "joined" else "", "glue": glue, "temp": temp, "rh": rh}
        facts = _facts(request) | {"ticked": tuple(pair or ())}
        return again(request, "today.html", mistake, typed=typed, **facts)
    return go(request, way, _moved_said(labels, stage) + in_air)


def _moved_said(labels: list[str], stage: str) -> str:
    if not labels:
        return f"All of them were {stage} already."
    return f"{_listed(labels)} {'is' if len(labels) == 1 else 'are'} {stage}."


def _listed(labels: list[str]) -> str:
    if len(labels) > 6:
        return f"{', '.join(labels[:5])} and {len(labels) - 5} more"
    return labels[0] if len(labels) == 1 else f"{', '.join(labels[:-1])} and {labels[-1]}"


@router.post("/bench/clamps/out")
def take_out(request: Request, asker: Asks, clamp: Annotated[list[int] | None, Form()] = None) -> Response:
    """The ticked ones left the clamps."""
    if not clamp:
        raise Mistake("nothing was ticked", where="clamps", do="tick what left the clamps")
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        rows = end_clamps(change, clamp)
        early = [row for row in rows if row.ended_at is not None and row.ended_at < row.off_at]
    said = f"{len(rows)} out of the clamps."
    if early:
        minutes = max((row.off_at - (row.ended_at or row.off_at)) / timedelta(minutes=1) for row in early)
        said += f" Up to {minutes:.0f} min early: do not stress the joint."
    return go(request, "/", said)


@router.post("/bench/clamps/in")
async def put_in(request: Request, asker: Asks) -> Response:
    """Something went into the clamps, a while ago perhaps."""
    shop: Shop = request.app.state.shop
    typed = NOTHING | {name: str(value) for name, value in (await request.form()).items()}
    try:
        with shop.change(asker.name) as change:
            pairs = _pairs_typed(change, typed["pairs"])
            what = typed["what"].strip() or JOINT
            ago = _minutes(typed["ago"])
            numbers = [p.id for p in pairs]
            air = _into_clamps(
                change, typed["glue"], numbers, what=what, ago=ago, temp=typed["temp"], rh=typed["rh"]
            )
            if what == JOINT:
                move(change, [p.id for p in pairs], "joined")
    except Mistake as mistake:
        return again(request, "today.html", mistake, typed=typed, **_facts(request))
    said = f"{_listed([p.label for p in pairs])} in the clamps. {_air_said(request, air)}"
    return go(request, "/", said)


@router.post("/bench/typed")
async def mark_typed(request: Request, asker: Asks) -> Response:
    """Pairs named by their labels are put at a stage."""
    shop: Shop = request.app.state.shop
    typed = NOTHING | {name: str(value) for name, value in (await request.form()).items()}
    try:
        with shop.change(asker.name) as change:
            pairs = _pairs_typed(change, typed["pairs"])
            moved = [row.label for row in move(change, [p.id for p in pairs], typed["stage"])]
    except Mistake as mistake:
        return again(request, "today.html", mistake, typed=typed, **_facts(request))
    return go(request, "/", _moved_said(moved, typed["stage"]))


def _pairs_typed(change: Change, typed: str) -> list[Pair]:
    """Pairs by their labels, apart by commas or spaces."""
    found, words = [], typed.replace(",", " ").replace(";", " ").split()
    for word in words:
        row = pair_by_label(change.session, word)
        if row is None:
            raise Mistake(f"no pair is labelled {word!r}", where="pairs", do="write them like T4, T7")
        found.append(row)
    if not found:
        raise Mistake("no pair was named", where="pairs", do="write them like T4, T7")
    return found


def _minutes(typed: str) -> float:
    if not typed.strip():
        return 0.0
    try:
        minutes = float(typed.replace(",", "."))
    except ValueError:
        minutes = -1.0
    if not 0 <= minutes <= 60 * 24 * 30:
        raise Mistake(f"{typed!r} is no number of minutes", where="ago", do="write it like 20")
    return minutes


def _into_clamps(
    change: Change,
    glue: str,
    pair_ids: list[int],
    *,
    what: str = JOINT,
    ago: float = 0.0,
    temp: str = "",
    rh: str = "",
) -> GlueAir:
    """Into the clamps with the air of the moment: as typed, else as it was read.

    Raises:
        Mistake: no such glue, or nobody read the air.
    """
    at = change.at - timedelta(minutes=ago)
    chosen = glue_of(glue, shop_glues(change.session))
    air = air_at_glue_up(change, at, temp, rh)
    start_clamps(
        change, chosen, pair_ids=pair_ids, what=what, glued_at=at, temp_c=air.temp_c, rh_pct=air.rh_pct
    )
    return air


def _air_said(request: Request, air: GlueAir) -> str:
    """The air that was stored, and whose word it is."""
    shop: Shop = request.app.state.shop
    said = f"Noted with it: {show_temperature(air.temp_c)} and {air.rh_pct:.0f} %"
    read = (
        "" if air.read_at is None else f", as read {shown(air.read_at, shop.clock(), house_of(request).zone)}"
    )
    return f"{said}{read}."


@router.post("/bench/stage/back")
def put_back(
    request: Request, asker: Asks, pair: Annotated[int, Form()], stage: Annotated[str, Form()]
) -> Response:
    """A slip of the finger: the pair goes back to the stage it came from."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        moved = move(change, [pair], stage, note="put back")
        labels = [row.label for row in moved]
    return go(request, "/", _moved_said(labels, stage))


def _way_back(request: Request, back: str) -> str:
    """The page the form stood on: of ours only."""
    if back.startswith("/") and back.isprintable() and not back.startswith(("//", "/\\")):
        return back
    ours = f"{request.url.scheme}://{request.headers.get('host')}"
    referer = request.headers.get("referer", "")
    return referer.removeprefix(ours) if referer.startswith(f"{ours}/") else "/"
