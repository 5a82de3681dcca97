"""What a person sees when something cannot be done: a page that says what to do; JSON under /api."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, HTTPException, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy import select
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.responses import JSONResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.shop.missing import Missing
from seamlight.shop.sent import SentBefore
from seamlight.shop.shop import Shop
from seamlight.shop.tables import History
from seamlight.web.sent_once import answer_again
from seamlight.web.told import told_rows

TITLES = {
    400: "This cannot be read",
    401: "This device is not paired",
    403: "Not from here",
    404: "Nothing is here",
    405: "This page cannot do that",
    409: "Someone changed this meanwhile",
    413: "Too much at once",
    415: "This kind of file is not taken",
    422: "Something is to be put right",
    429: "Wait a little",
    500: "A fault of the program",
}
PLAIN = {
    404: "There is no page at this address.",
    405: "This address does not take what was sent to it.",
}
OURS = ("csrf", "sent", "version")  # fields that nobody typed
DO = {
    400: "Open the page again and repeat it.",
    403: "Open the page again and repeat what you did.",
    404: "It may have been deleted (Shop, Recently deleted), or the address is mistyped.",
    405: "Go back and use the page's own buttons.",
    413: "Send less at once, or save the pictures smaller.",
    500: "What was kept before is still there. It is no mistake of yours; the server's own log says more.",
}


def answer(
    request: Request,
    status: int,
    what: str,
    *,
    do: str = "",
    where: str = "",
    headers: Mapping[str, str] | None = None,
    **facts: Any,
) -> Response:
    """A page, or JSON under /api, that says what is wrong and what to do."""
    from seamlight.web.render import page  # pages need this module for their own errors

    do = do or DO.get(status, "")
    reply: Response
    if request.url.path.startswith("/api/"):
        reply = JSONResponse({"status": status, "what": what, "where": where, "do": do}, status)
    else:
        shown: dict[str, Any] = {"conflict": None, "student": None} | facts
        title = TITLES.get(status, "This cannot be done")
        reply = page(
            request, "error.html", title=title, status=status, what=what, do=do, where=where, **shown
        )
    reply.headers.update(headers or {})
    return reply


def not_paired(request: Request) -> Response:
    """An unknown device, or one that was revoked."""
    do = (
        "On the shop's own computer open Shop, Devices, make a link, and scan its code with this device."
        " If this device was paired before, it has been taken off the list."
    )
    return answer(request, 401, "The shop does not know this device.", do=do)


def students_refusal(request: Request) -> Response:
    """A class link used for something else than the one page it opens."""
    student_id = request.state.asker.student_id
    do = "Go to your own page; for anything else ask your teacher."
    what = "A class link opens one student's instrument and nothing else."
    return answer(request, 403, what, do=do, student=student_id)


def add_handlers(app: FastAPI) -> None:
    """Make the house answer its errors in plain words."""

    @app.exception_handler(Mistake)
    def told(request: Request, mistake: Mistake) -> Response:
        if isinstance(mistake, Conflict):
            return conflict(request, mistake)
        if isinstance(mistake, Missing) and request.path_params:  # the address itself named it
            return answer(request, 404, mistake.what, do=mistake.do, where=mistake.where)
        return answer(request, 422, mistake.what, do=mistake.do, where=mistake.where)

    @app.exception_handler(SentBefore)
    def sent_before(request: Request, before: SentBefore) -> Response:
        return answer_again(request, before)

    @app.exception_handler(StarletteHTTPException)
    def refused(request: Request, error: StarletteHTTPException) -> Response:
        what = str(error.detail)
        if what == HTTPStatus(error.status_code).phrase:
            what = PLAIN.get(error.status_code, what)
        return answer(request, error.status_code, what, headers=error.headers)

    @app.exception_handler(RequestValidationError)
    def unreadable(request: Request, error: RequestValidationError) -> Response:
        where, what = _first(error)
        if where.startswith("path"):
            return answer(request, 404, "There is no such page.")
        return answer(request, 422, what, where=where, do="put it right and send it again")

    @app.exception_handler(Exception)
    def fault(request: Request, error: Exception) -> Response:
        from seamlight.web.guard import add_headers

        logging.getLogger("seamlight").error("fault at %s", request.url.path, exc_info=error)
        reply = answer(request, 500, "Something went wrong inside the program.")
        add_headers(reply.headers)
        return reply


def conflict(request: Request, mistake: Conflict) -> Response:
    """The later of two is told what the earlier did, beside what they typed themselves."""
    by_program = request.url.path.startswith("/api/")
    changes = _changes(request, mistake, as_kept=by_program)
    if by_program:
        told = [change | {"at": change["at"].isoformat()} for change in changes]
        body = {"status": 409, "what": mistake.what, "where": mistake.where, "do": mistake.do}
        return JSONResponse(body | {"changes": told}, 409)
    form = getattr(request, "_form", None)  # as Starlette keeps it once it was read
    typed = form.multi_items() if form is not None else []
    mine = [(key, value) for key, value in typed if isinstance(value, str) and key not in OURS]
    shown = {"changes": changes, "mine": mine, "back": came_from(request)}
    return answer(request, 409, mistake.what, do=mistake.do, conflict=shown)


def _changes(request: Request, mistake: Conflict, *, as_kept: bool) -> list[dict[str, Any]]:
    """What was done meanwhile, each field as it was and as it is now."""
    from seamlight.web.render import house_of

    shop: Shop = request.app.state.shop
    told: list[dict[str, Any]] = []
    unit = house_of(request).unit
    with shop.read() as session:
        for change in mistake.changes:
            lines = select(History).where(
                History.at == change.at, History.by == change.by, History.what == change.what
            )
            line = session.scalars(lines.order_by(History.id.desc()).limit(1)).first()
            before, after = (line.before or {}, line.after or {}) if line else ({}, {})
            kept = [(name, before.get(name), after.get(name)) for name in change.fields]
            fields = kept if as_kept else told_rows(before, after, change.fields, unit)
            told.append({"by": change.by, "at": change.at, "what": change.what, "fields": fields})
    return told


def came_from(request: Request) -> str:
    """The page of ours that a form stood on."""
    ours = f"{request.url.scheme}://{request.headers.get('host')}"
    referer = request.headers.get("referer", "")
    return referer.removeprefix(ours) if referer.startswith(f"{ours}/") else "/"


def _first(error: RequestValidationError) -> tuple[str, str]:
    """Where the first thing stands that is wrong, and what it is."""
    for line in error.errors():
        return " ".join(str(part) for part in line["loc"]), str(line["msg"]).rstrip(".")
    return "", "this cannot be read"


def nothing_here(what: str = PLAIN[404]) -> HTTPException:
    """To be raised where a number or a name leads to nothing."""
    return HTTPException(404, what)
