"""Shop, Air log: what thermometer and hygrometer said."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.air import air_log, note_air, parse_humidity, parse_temperature
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Air
from seamlight.web.access import Asks
from seamlight.web.render import again, go, page

router = APIRouter()
TITLE = "Air log"
NOTHING = {"temp": "", "rh": "", "note": ""}


@router.get("/shop/air")
def show(request: Request) -> HTMLResponse:
    """The log, newest first, and the form for the next look."""
    log = _log(request)
    return page(request, "air.html", title=TITLE, place="shop", typed=NOTHING, mistake=None, log=log)


@router.post("/shop/air")
def note(
    request: Request,
    asker: Asks,
    temp: Annotated[str, Form()] = "",
    rh: Annotated[str, Form()] = "",
    note: Annotated[str, Form(max_length=500)] = "",
) -> Response:
    """Keep one look."""
    shop: Shop = request.app.state.shop
    try:
        temp_c, rh_pct = parse_temperature(temp, where="temp"), parse_humidity(rh, where="rh")
        with shop.change(asker.name) as change:
            note_air(change, temp_c, rh_pct, note)
    except Mistake as mistake:
        typed = {"temp": temp, "rh": rh, "note": note}
        return again(request, "air.html", mistake, title=TITLE, place="shop", typed=typed, log=_log(request))
    return go(request, "/shop/air", "The air is noted.")


def _log(request: Request) -> list[Air]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        return air_log(session)
