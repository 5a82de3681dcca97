"""What a pair is laid out with, kept from a plain form: trims, the least off the joint, matching, wedges."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from seamlight.layout.by_hand_document import HandPlacingPart
from seamlight.mistake import Mistake
from seamlight.shop.laying_out import keep_settings_for, same_search
from seamlight.shop.shop import Shop
from seamlight.web.access import Asks
from seamlight.web.laid_with import settings_typed
from seamlight.web.pair_api import keep_placing, search_again
from seamlight.web.pair_bench import Judging, bench
from seamlight.web.pair_documents import PlacingAsked
from seamlight.web.pair_show import ShownAgain
from seamlight.web.render import go, house_of
from seamlight.web.work import wake

router = APIRouter(prefix="/wood/pairs", include_in_schema=False, route_class=ShownAgain)


@router.post("/{pair_id}/settings")
async def lay_out_with(request: Request, pair_id: int, asker: Asks) -> Response:
    """Keep what the pair is laid out with; the choice is judged by it, and all openings are searched anew."""
    shop: Shop = request.app.state.shop
    typed = {name: str(value) for name, value in (await request.form()).items()}
    unit = house_of(request).unit
    with shop.read() as session:
        laid = bench(shop, session, pair_id)
    if laid is None:
        raise Mistake("is not read yet", where="pair", do="have its photographs read first")
    wanted = settings_typed(typed, laid.settings, unit)
    version = int(typed["version"]) if typed.get("version", "").isdecimal() else None
    with shop.change(asker.name) as change:
        keep_settings_for(change, pair_id, wanted)
        if laid.chosen:
            known = Judging(laid.pair, laid.wood, laid.outline, wanted)
            part = HandPlacingPart.of(laid.placing)
            keep_placing(change, known, PlacingAsked(outline=laid.outline.name, placing=part), version, unit)
        if not same_search(wanted, laid.settings):
            search_again(change, pair_id, laid.outline.name)
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}", "Kept; the pair is laid out with it.")
