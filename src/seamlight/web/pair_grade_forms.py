"""What a pair's grade rests on beside its photographs: runout off a split offcut, two-tone in two lights."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.shop.runout import keep_runout, take_back_runout
from seamlight.shop.shop import Shop
from seamlight.shop.two_tone import ask_tone
from seamlight.web.access import Asks
from seamlight.web.pair_show import ShownAgain
from seamlight.web.render import go
from seamlight.web.work import wake

router = APIRouter(prefix="/wood/pairs", include_in_schema=False, route_class=ShownAgain)


@router.post("/{pair_id}/runout")
def note_runout(
    request: Request, pair_id: int, asker: Asks, runout: Annotated[str, Form(max_length=40)] = ""
) -> Response:
    """The runout as read off a split offcut, in degrees or as a slope."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        keep_runout(change, pair_id, runout)
    return go(request, f"/wood/pairs/{pair_id}#grade", "Noted; the grade counts it.")


@router.post("/{pair_id}/runout/back")
def no_runout(request: Request, pair_id: int, asker: Asks) -> Response:
    """Take the newest back."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        gone = take_back_runout(change, pair_id)
    return go(request, f"/wood/pairs/{pair_id}#grade", "Taken back." if gone else "There was none.")


@router.post("/{pair_id}/tone")
def compare_again(request: Request, pair_id: int, asker: Asks) -> Response:
    """Compare both lights again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        if ask_tone(change, pair_id) is None:
            raise Mistake("a picture is missing", where="tone", do="add the pair lit from end 1 and end 2")
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}#grade", "Both lights are being compared in the background.")
