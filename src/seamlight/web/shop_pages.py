"""The Shop place: its contents, and the settings of the whole house."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Match

from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.shop.settings import keep_setting, setting_version, settings
from seamlight.shop.shop import Shop
from seamlight.shop.zone import ZONE, zone_name, zone_names
from seamlight.web.access import Asks
from seamlight.web.house import MAKER, NAME, UNIT, House
from seamlight.web.render import again, go, page

router = APIRouter()

CONTENTS = (
    ("/shop/air", "Air log", "temperature and humidity, as read off the hygrometer"),
    ("/shop/glue", "Glue times", "in the clamps, and until it may be worked"),
    ("/shop/grades", "Grades", "the shop's own grades and their thresholds"),
    ("/shop/outlines", "Outlines", "the shapes the shop builds"),
    ("/shop/labels", "Labels", "sheets of labels for pairs and leaves"),
    ("/shop/settings", "Settings", "mm or inch, the time zone, the shop's name, yours"),
    ("/shop/devices", "Devices", "let a phone in, or take it off the list"),
    ("/shop/backup", "Backup", "the whole shop as one file"),
    ("/shop/health", "Health", "whether everything kept is there and whole"),
    ("/shop/deleted", "Recently deleted", "bring something back"),
    ("/api/docs", "For other programs", "what may be asked as JSON"),
)
TITLE = "Settings"
KEYS = (UNIT, NAME, MAKER, ZONE)
UNITS = (("mm", "millimetres"), ("inch", "inches"))
NAME_LENGTH = 60


@router.get("/shop")
def contents(request: Request) -> HTMLResponse:
    """What lies in this place; a page that is not built in is not listed."""
    there = [entry for entry in CONTENTS if _is_there(request, entry[0])]
    return page(request, "shop.html", title="Shop", place="shop", contents=there)


def _is_there(request: Request, path: str) -> bool:
    scope = {"type": "http", "method": "GET", "path": path, "headers": []}
    return any(route.matches(scope)[0] is Match.FULL for route in request.app.router.routes)


@router.get("/shop/settings")
def show_settings(request: Request) -> HTMLResponse:
    """The settings as they are."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        said = settings(session)
        versions = {key: setting_version(session, key) for key in KEYS}
    plain = House()
    typed = {
        "unit": said.get(UNIT, plain.unit),
        "shop_name": said.get(NAME, ""),
        "maker": said.get(MAKER, ""),
        "zone": said.get(ZONE, ""),
    }
    return page(request, "settings.html", mistake=None, **_facts(typed, versions))


def _facts(typed: dict[str, str], versions: dict[str, int]) -> dict[str, Any]:
    here = datetime.now().astimezone()
    offset = f"{here:%z}"
    facts: dict[str, Any] = {"title": TITLE, "place": "shop", "typed": typed, "versions": versions}
    machine = f"{here:%Z} now, UTC{offset[:3]}:{offset[3:]}"
    return facts | {"units": UNITS, "zones": zone_names(), "machine": machine}


@router.post("/shop/settings")
def keep_settings(
    request: Request,
    asker: Asks,
    unit: Annotated[str, Form()] = "mm",
    shop_name: Annotated[str, Form()] = "",
    maker: Annotated[str, Form()] = "",
    zone: Annotated[str, Form(max_length=80)] = "",
    unit_version: Annotated[int, Form()] = 0,
    shop_name_version: Annotated[int, Form()] = 0,
    maker_version: Annotated[int, Form()] = 0,
    zone_version: Annotated[int, Form()] = 0,
) -> Response:
    """Keep what was changed; a setting that another device changed meanwhile is not overwritten."""
    shop: Shop = request.app.state.shop
    wanted = {UNIT: unit, NAME: " ".join(shop_name.split()), MAKER: " ".join(maker.split()), ZONE: zone}
    versions = dict(zip(KEYS, (unit_version, shop_name_version, maker_version, zone_version), strict=True))
    try:
        _check(wanted)
        wanted[ZONE] = zone_name(zone, where=ZONE)
        with shop.change(asker.name) as change:
            said = settings(change.session)
            for key, value in wanted.items():
                if value != said.get(key, "mm" if key == UNIT else ""):
                    keep_setting(change, key, value, expected_version=versions[key])
    except Conflict:
        raise
    except Mistake as mistake:
        return again(request, "settings.html", mistake, **_facts(wanted, versions))
    return go(request, "/shop/settings", "Kept.")


def _check(wanted: dict[str, str]) -> None:
    if wanted[UNIT] not in dict(UNITS):
        raise Mistake(f"{wanted[UNIT]!r} is no unit", where=UNIT, do="choose mm or inches")
    for key in (NAME, MAKER):
        if len(wanted[key]) > NAME_LENGTH:
            raise Mistake(f"has more than {NAME_LENGTH} letters", where=key, do="write it shorter")
