"""Shop, Devices: who may look in, new links, taking a device off the list."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import segno
from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import HTMLResponse, Response

from seamlight.shop import devices
from seamlight.shop.classes import live_student
from seamlight.shop.shop import Shop
from seamlight.web.access import Asks
from seamlight.web.render import go, page
from seamlight.web.serving import Serving

router = APIRouter()


@router.get("/shop/devices")
def show(request: Request) -> HTMLResponse:
    """Every device that is let in."""
    shop: Shop = request.app.state.shop
    serving: Serving = request.app.state.serving
    with shop.read() as session:
        rows = devices.devices(session)
        of = {row.student_id for row in rows if row.student_id is not None}
        away = {number for number in of if live_student(session, number) is None}
    facts: dict[str, Any] = {"devices": rows, "shared": serving.share, "away": away}
    return page(request, "devices.html", title="Devices", place="shop", **facts)


@router.post("/shop/devices/link")
def make_link(request: Request, asker: Asks) -> Response:
    """A new link for one more device of the shop."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        token, ends = devices.make_link(change)
    return show_link(request, token, ends, place="shop", back="/shop/devices", student="")


@router.post("/shop/devices/{device_id}/revoke")
def revoke(request: Request, asker: Asks, device_id: int) -> Response:
    """Take a device off the list; its next look is refused."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        device = devices.revoke(change, device_id)
    return go(request, "/shop/devices", f"{device.name} is let in no longer.")


def show_link(
    request: Request, token: str, ends: datetime, *, place: str, back: str, student: str
) -> HTMLResponse:
    """A link as a code to scan and as letters to type; it is shown this once.

    Args:
        token: of the link.
        ends: when it is over.
        place: where the page stands in the house.
        back: the page to go back to.
        student: whose page it opens; empty for a device of the shop.
    """
    serving: Serving = request.app.state.serving
    address = link_address(serving, token)
    facts: dict[str, Any] = {"address": address, "code": code_of(address), "student": student}
    facts |= {"ends": ends, "back": back, "shared": serving.share}
    title = f"A link for {student}" if student else "A link for one device"
    return page(request, "link.html", title=title, place=place, **facts)


def link_address(serving: Serving, token: str) -> str:
    """The link as it is scanned or typed; its letters stand in fours."""
    grouped = "-".join(token[at : at + 4] for at in range(0, len(token), 4))
    return f"{serving.address}/pair-with/{grouped}"


def code_of(text: str) -> Markup:
    """The text as a QR code (ISO/IEC 18004), an SVG to stand in a page; dark on white in every light."""
    svg = segno.make(text, error="m").svg_inline(border=2, dark="#000", light="#fff", omitsize=True)
    return Markup(svg)
