"""From facts to an answer: pages, the way on after a form, a form shown again."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.web import csrf
from seamlight.web.access import who_asks
from seamlight.web.filters import add_filters
from seamlight.web.house import House
from seamlight.web.sent_once import answered, form_number
from seamlight.web.told import told_names

PAGES = Path(__file__).parent / "pages"
SAID_COOKIE = "seamlight_said"
PLACES = (
    ("today", "Today", "/"),
    ("wood", "Wood", "/wood"),
    ("builds", "Builds", "/builds"),
    ("classes", "Classes", "/classes"),
    ("shop", "Shop", "/shop"),
)


@cache
def templates() -> Environment:
    """The pages' templates; a name that a page forgot to give is an error, not an empty place."""
    pages = Environment(
        loader=FileSystemLoader(PAGES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    add_filters(pages)
    pages.globals["form_number"] = form_number
    pages.filters["told_names"] = told_names
    return pages


def house_of(request: Request) -> House:
    """The shop's way of showing things."""
    house = getattr(request.state, "house", None)
    return house if isinstance(house, House) else House()


def page(
    request: Request, name: str, /, *, title: str, place: str = "", status: int = 200, **facts: Any
) -> HTMLResponse:
    """A page from its template.

    Args:
        name: the template, such as "rack.html".
        title: what the browser's tab says.
        place: today, wood, builds, classes or shop: where it is in the house.
        status: of the answer.
        facts: what the template names.
    """
    asker, house = who_asks(request), house_of(request)
    said = request.cookies.get(SAID_COOKIE)
    sealed = request.app.state.seals.open("said", said) if said else None
    common = {
        "asker": asker,
        "csrf": csrf.token_for(request),
        "now": request.app.state.shop.clock(),
        "path": request.url.path,
        "place": place,
        "places": PLACES if asker.works_here else (),
        "said": unquote(sealed) if sealed else "",
        "shop_name": house.name,
        "title": title,
        "unit": house.unit,
        "zone": house.zone,
    }
    answer = HTMLResponse(templates().get_template(name).render(common | facts), status)
    csrf.keep_value(request, answer)
    if said:
        answer.delete_cookie(SAID_COOKIE, path="/")
    return answer


def go(request: Request, address: str, said: str = "") -> Response:
    """The way on after a form: `address`, where `said` is told once.

    A form sent by our own script (header X-Form) gets the address as JSON, so that the script knows that
    what was typed has arrived.
    """
    answer: Response
    said = answered(request, address, said)
    if request.headers.get("x-form"):
        answer = JSONResponse({"go": address})
    else:
        answer = RedirectResponse(address, 303)
    if said:
        sealed = request.app.state.seals.seal("said", quote(said))
        answer.set_cookie(SAID_COOKIE, sealed, max_age=60, httponly=True, samesite="strict", path="/")
    return answer


def again(
    request: Request, name: str, mistake: Mistake, /, *, title: str, place: str = "", **facts: Any
) -> HTMLResponse:
    """A form shown again with what was typed and what is wrong, as status 422, or 409 after another device.

    The template gets `mistake`; on the first showing it is to be given as None.
    """
    status = 409 if isinstance(mistake, Conflict) else 422
    return page(request, name, title=title, place=place, status=status, mistake=mistake, **facts)
