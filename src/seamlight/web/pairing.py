"""Letting a device in by its one-time link; wrong links slow down."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import devices
from seamlight.shop.shop import Shop
from seamlight.web import errors
from seamlight.web.access import DEVICE_COOKIE
from seamlight.web.render import again, go, page

router = APIRouter()

COOKIE_LASTS = timedelta(days=365)
TITLE = "Let this device in"


@router.get("/pair-with/{token}")
def look(request: Request, token: str) -> Response:
    """Ask for the device's name. Only the button uses the link up: what looks ahead does not."""
    refusal = _refused(request, token)
    return refusal or _form(request, token)


@router.post("/pair-with/{token}")
def let_in(request: Request, token: str, name: Annotated[str, Form()] = "") -> Response:
    """Use the link up and give the device its cookie."""
    refusal = _refused(request, token)
    if refusal:
        return refusal
    shop: Shop = request.app.state.shop
    try:
        with shop.change(name.strip() or "a new device") as change:
            got = devices.let_in(change, token, name)
    except Mistake as mistake:
        if mistake.where == "name":
            facts = {"token": token, "name": name, "student": _student(request, token)}
            return again(request, "pair_with.html", mistake, title=TITLE, **facts)
        return errors.answer(request, 403, mistake.what, do=mistake.do)
    if got is None:
        return errors.answer(request, 403, "This link is not known.")
    device, device_token = got
    answer = go(request, "/" if device.student_id is None else f"/students/{device.student_id}")
    answer.set_cookie(
        DEVICE_COOKIE,
        request.app.state.seals.seal("device", device_token),
        max_age=int(COOKIE_LASTS.total_seconds()),
        httponly=True,
        samesite="strict",
        path="/",
    )
    return answer


@router.post("/shop/leave")
def leave(request: Request) -> RedirectResponse:
    """Take this device off the list, by itself."""
    shop: Shop = request.app.state.shop
    asker = request.state.asker
    if asker.device_id:
        with shop.change(asker.name) as change:
            devices.revoke(change, asker.device_id)
    answer = RedirectResponse("/", 303)
    answer.delete_cookie(DEVICE_COOKIE, path="/")
    return answer


def _form(request: Request, token: str) -> Response:
    student = _student(request, token)
    return page(request, "pair_with.html", title=TITLE, token=token, name="", mistake=None, student=student)


def _student(request: Request, token: str) -> str:
    """The student whose page the link opens; empty for a device of the shop."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        return devices.links_student(session, token, shop.clock())


def _refused(request: Request, token: str) -> Response | None:
    """The answer to a wrong, used or old link, or to one tried too soon after wrong ones."""
    shop: Shop = request.app.state.shop
    address = request.client.host if request.client else "unknown"
    with shop.read() as session:
        wait = devices.must_wait(session, address, shop.clock())
        if wait:
            seconds = int(wait.total_seconds()) + 1
            return errors.answer(
                request,
                429,
                f"Too many wrong links were tried. Wait {_spoken(seconds)}, then try again.",
                headers={"retry-after": str(seconds)},
            )
        try:
            known = devices.find_link(session, token, shop.clock()) is not None
        except Mistake as mistake:
            return errors.answer(request, 403, mistake.what, do=mistake.do)
    if known:
        return None
    with shop.change(address) as change:
        devices.note_wrong_try(change, address)
    do = "Scan the code again, or make a new link on the page Shop, Devices."
    return errors.answer(request, 403, "This link is not known.", do=do)


def _spoken(seconds: int) -> str:
    return f"{seconds} seconds" if seconds < 120 else f"{-(-seconds // 60)} minutes"
