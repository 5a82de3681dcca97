"""The rack: every pair as its book-matched picture, filtered and sorted; wood without photographs, too."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrivals
from seamlight.shop.export import rack_csv
from seamlight.shop.rack import RackQuery, RackRow, offered, rack
from seamlight.shop.shop import Shop
from seamlight.shop.stages import STAGES
from seamlight.shop.taking_in import rack_key, small_key
from seamlight.shop.wood import KINDS, new_pair
from seamlight.timber.species import species_names
from seamlight.units import parse_length
from seamlight.web.access import Asks
from seamlight.web.facts import NO_FACTS, day_of, facts_of
from seamlight.web.render import again, go, house_of, page

router = APIRouter()

PER_PAGE = 48
SORTS = (
    ("newest", "newest first"),
    ("label", "label"),
    ("spare", "most room to spare"),
    ("lines", "most lines per inch"),
    ("grade", "grade"),
    ("species", "species"),
    ("stage", "stage"),
    ("bought", "bought last"),
)
ASKED = ("q", "kind", "species", "stage", "grade", "fits", "spare", "lines", "since", "until", "sort", "page")


@router.get("/wood", include_in_schema=False)
def show(request: Request) -> HTMLResponse:
    """One page of the rack."""
    shop: Shop = request.app.state.shop
    asked = {name: request.query_params.get(name, "")[:80] for name in ASKED}
    mistake = None
    try:
        query = query_of(request, asked)
    except Mistake as wrong:
        mistake, query = wrong, RackQuery(per_page=PER_PAGE)
    with shop.read() as session:
        found = rack(session, query)
        choices = offered(session)
        waiting = len(arrivals(session))
        live = jobs.count_live(session)
    asks = {name: value for name, value in asked.items() if value and name != "page"}
    return page(
        request,
        "rack.html",
        title="Wood",
        place="wood",
        mistake=mistake,
        asked=asked,
        found=found,
        cards=[(row, picture_of(shop, row)) for row in found.rows],
        choices={name: [("", "all"), *((one, one) for one in there)] for name, there in choices.items()},
        sorts=SORTS,
        stages=[(stage, stage) for stage in STAGES],
        waiting=waiting,
        live=live,
        filtered=bool(set(asks) - {"sort"}),
        here=f"/wood?{urlencode({**asks, 'page': found.page})}",
        turn=lambda number: "/wood?" + urlencode({**asks, "page": number}),
    )


def query_of(request: Request, asked: dict[str, str]) -> RackQuery:
    """What is looked for, from the address.

    Raises:
        Mistake: a length or a number that is none.
    """
    unit, zone = house_of(request).unit, house_of(request).zone
    lines = _number(asked["lines"], "lines")
    sort = asked["sort"] or "newest"
    return RackQuery(
        kind=asked["kind"] or None,
        species_key=asked["species"] or None,
        stage=asked["stage"] or None,
        grade=asked["grade"] or None,
        text=asked["q"],
        fits=asked["fits"] or None,
        spare_from_mm=parse_length(asked["spare"], unit) if asked["spare"].strip() else None,
        lines_from=lines,
        bought_from=day_of(asked["since"], "since"),
        bought_to=day_of(asked["until"], "until"),
        zone=zone,
        sort=sort if sort in dict(SORTS) else "newest",
        page=int(asked["page"]) if asked["page"].isdecimal() else 1,
        per_page=PER_PAGE,
    )


def picture_of(shop: Shop, row: RackRow) -> str:
    """Where a pair's picture is: book-matched where it was read, else its photograph; "" for none."""
    key = rack_key(row.pair.id)
    if shop.made.path(key).is_file():
        return f"/made/{key}"
    for role in ("opened", "a", "joined", "b", "other"):
        sha = row.pictures.get(role)
        if sha is not None:
            small = small_key(sha)
            return f"/made/{small}" if shop.made.path(small).is_file() else f"/files/{sha}"
    return ""


@router.get("/wood/rack.csv", include_in_schema=False)
def as_csv(request: Request) -> Response:
    """The whole rack as CSV."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        text = rack_csv(session)
    headers = {"content-disposition": 'attachment; filename="rack.csv"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=headers)


@router.get("/wood/new", include_in_schema=False)
def blank(request: Request) -> HTMLResponse:
    """A form for a piece without photographs."""
    return page(request, "new_pair.html", mistake=None, **_new_facts(NO_FACTS))


@router.post("/wood/new", include_in_schema=False)
async def add(request: Request, asker: Asks) -> Response:
    """A new piece without photographs."""
    shop: Shop = request.app.state.shop
    typed = {name: str(value) for name, value in (await request.form()).items()}
    try:
        facts = facts_of(typed, house_of(request).unit)
        with shop.change(asker.name) as change:
            made = new_pair(change, **facts)
    except Mistake as mistake:
        return again(request, "new_pair.html", mistake, **_new_facts({**NO_FACTS, **typed}))
    return go(request, f"/wood/pairs/{made.id}", f"{made.label} is on the rack.")


def _new_facts(typed: dict[str, str]) -> dict[str, Any]:
    return {
        "title": "A piece without photographs",
        "place": "wood",
        "typed": typed,
        "kinds": [(kind, kind) for kind in KINDS],
        "species": species_names(),
    }


def _number(typed: str, where: str) -> float | None:
    if not typed.strip():
        return None
    try:
        return float(typed.replace(",", "."))
    except ValueError as error:
        raise Mistake(f"{typed!r} is no number", where=where, do="write it like 12 or 12.5") from error
