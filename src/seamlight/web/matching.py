"""Builds, matching: the best way to give the rack to all wanted instruments, and the second best."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.builds import accept, all_given, builds
from seamlight.shop.match_builds import Matching, Plan
from seamlight.shop.match_short import shopping_list
from seamlight.shop.matching import match_shop, not_laid_out, outline_key, to_give
from seamlight.shop.shop import Shop
from seamlight.shop.taking_in import ask_read, rack_key
from seamlight.web.access import Asks
from seamlight.web.render import go, house_of, page
from seamlight.web.work import wake

router = APIRouter(include_in_schema=False)


@router.get("/builds/match")
def show(request: Request) -> HTMLResponse:
    """The matching of everything on the rack to everything wanted."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = match_shop(session, house_of(request).unit)
        wanted = builds(session)
        given = {(row.build_id, row.part): row.pair_id for row in all_given(session)}
        missing = not_laid_out(session)
    pairs = {one.offer.pair_id for plan in (found.best, found.second) if plan for one in plan.given}
    return page(
        request,
        "match.html",
        title="Wood for the instruments",
        place="builds",
        found=found,
        wanted=len(wanted),
        no_outline=[build for build in wanted if not outline_key(build.outline)],
        given=given,
        plans={"best": said(found.best), "second": said(found.second)},
        buy=shopping_list(found.shortages),
        missing={name: len(numbers) for name, numbers in missing.items()},
        pictures={n for n in pairs if shop.made.path(rack_key(n)).is_file()},
    )


def said(plan: Plan | None) -> str:
    """A plan in one line, so that what is accepted is what was shown."""
    if plan is None:
        return ""
    return " ".join(sorted(f"{one.wish.build_id}:{one.wish.part}:{one.offer.pair_id}" for one in plan.given))


@router.post("/builds/match")
def take_over(request: Request, asker: Asks, plan: Annotated[str, Form(max_length=20_000)] = "") -> Response:
    """Take over the best or the second best, if it is still what was shown."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        found = match_shop(change.session, house_of(request).unit)
        chosen = _shown(found, plan)
        rows = accept(change, to_give(chosen))
    count = len(rows)
    return go(request, "/builds", f"Taken over: {count} {'pair' if count == 1 else 'pairs'} given anew.")


def _shown(found: Matching, plan: str) -> Plan:
    for one in (found.best, found.second):
        if one is not None and said(one) == plan:
            return one
    raise Mistake(
        "the rack or the wishes changed since this matching was shown",
        where="matching",
        do="open it again (Builds, Match wood to instruments)",
    )


@router.post("/builds/match/lay-out")
def lay_out(request: Request, asker: Asks, outline: Annotated[str, Form(max_length=80)]) -> Response:
    """Have every pair laid out in the background for an outline that is wished."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        numbers = not_laid_out(change.session).get(outline, [])
        asked = [job for n in numbers if (job := ask_read(change, n, (outline,))) is not None]
    wake(request.app)
    return go(
        request,
        "/builds/match",
        f"{len(asked)} pairs are being laid out for the {outline}; the rack shows how far.",
    )
