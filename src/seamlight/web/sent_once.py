"""A form whose answer was lost is sent again, and counts once: it gets the answer it would have got."""

from __future__ import annotations

import secrets

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import Response

from seamlight.shop.sent import Sending, SentBefore, check_unsent, remember_answer, sending
from seamlight.shop.shop import Shop
from seamlight.web.access import SAFE

FIELD = "sent"
LONGEST = 60
KEPT_BEFORE = "This had arrived before; it counts once."
OTHER_KEPT = "What you sent from this page before had arrived too: see that both are meant."
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
_DIFFERS = (FIELD, "csrf")


def form_number() -> str:
    """A number for a form, anew each time it is shown."""
    return secrets.token_urlsafe(12)


async def asked_once(request: Request) -> None:
    """FastAPI dependency of the whole house: changes made by this request remember its form.

    Raises:
        SentBefore: the form was sent and kept before.
    """
    if request.method in SAFE or not request.headers.get("content-type", "").startswith(_FORMS):
        return
    form = await request.form()
    number = form.get(FIELD)
    if not isinstance(number, str) or not 0 < len(number) <= LONGEST:
        return
    fields = [(name, _said(value)) for name, value in form.multi_items() if name not in _DIFFERS]
    asked = Sending.of(number, request.url.path, fields)
    await run_in_threadpool(_look, request.app.state.shop, asked)
    sending.set(asked)


def answered(request: Request, address: str, said: str) -> str:
    """Remember where the answer leads; what is said with it."""
    asked = sending.get()
    if asked is None or not asked.kept:
        return said
    shop: Shop = request.app.state.shop
    with shop.change("seamlight") as change:
        remember_answer(change, asked, address)
    return f"{said} {OTHER_KEPT}".strip() if asked.other else said


def answer_again(request: Request, before: SentBefore) -> Response:
    """The way on that the first answer showed; where that is not known, the page that the form stood on."""
    from seamlight.web.errors import came_from
    from seamlight.web.render import go

    return go(request, before.address or came_from(request), KEPT_BEFORE)


def _look(shop: Shop, asked: Sending) -> None:
    with shop.read() as session:
        check_unsent(session, asked)


def _said(value: UploadFile | str) -> str:
    return value if isinstance(value, str) else f"{value.filename} {value.size}"
