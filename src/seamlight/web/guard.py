"""What stands before every page: host, asker, origin, size; and the headers behind every answer."""

from __future__ import annotations

import ipaddress
from contextlib import suppress
from datetime import timedelta
from urllib.parse import urlsplit

from fastapi import HTTPException, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from seamlight.mistake import Mistake
from seamlight.shop import devices
from seamlight.shop.numbered import LARGEST
from seamlight.shop.shop import Shop
from seamlight.web import errors
from seamlight.web.access import NOBODY, SAFE, Asker, find_asker, may_go
from seamlight.web.house import House, read_house
from seamlight.web.letters import SAYS, in_address
from seamlight.web.seals import Seals
from seamlight.web.serving import Limits, Serving

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; media-src blob:;"
        " connect-src 'self'; font-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none';"
        " frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # "no-referrer" would make browsers send the origin of our own forms as "null".
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), payment=(), usb=(), serial=()",
}
HERE = frozenset({"localhost", "127.0.0.1", "::1"})
_DIGITS, _HASH_LENGTH = 10, 64


class Guard:
    """ASGI layer around the whole house."""

    def __init__(self, app: ASGIApp, shop: Shop, serving: Serving, seals: Seals) -> None:
        self.app, self.shop, self.serving, self.seals = app, shop, serving, seals

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        request = Request(scope)
        request.state.asker, request.state.house = NOBODY, House()
        guarded = _with_headers(send)
        refusal = await self._refusal(request)
        if refusal is not None:
            await refusal(scope, receive, guarded)
            return
        limit = body_limit(request.headers, self.serving.limits, request.state.asker)
        await self.app(scope, _limited(receive, limit), guarded)

    async def _refusal(self, request: Request) -> Response | None:
        """The answer where a request may not go on, else None."""
        if not host_is_ours(request.headers.get("host", ""), self.serving):
            return errors.answer(request, 400, "This address is not one of this server's own names.")
        if in_address(request):
            return errors.answer(request, 400, SAYS)
        path: str = request.scope["path"]  # as the routes are chosen by, percent signs resolved
        if not numbers_can_be(path):
            return errors.answer(request, 404, errors.PLAIN[404])
        if path.startswith("/static/"):
            return None
        asker, house = await run_in_threadpool(self._meet, request)
        request.state.asker, request.state.house = asker, house
        if not asked_from_here(request):
            return errors.answer(request, 403, "Another site asked for this; open the page from here.")
        if may_go(asker, request.method, path):
            length = request.headers.get("content-length", "0")
            limit = body_limit(request.headers, self.serving.limits, asker)
            if length.isdigit() and int(length) > limit:
                return errors.answer(request, 413, too_large(limit))
            return None
        if asker.kind == "student":
            if path == "/":
                return RedirectResponse(f"/students/{asker.student_id}", 303)
            return errors.students_refusal(request)
        return errors.not_paired(request)

    def _meet(self, request: Request) -> tuple[Asker, House]:
        """Who asks, and the shop's way of showing things; notes now and then that a device was here."""
        with self.shop.read() as session:
            house = read_house(session)
            asker = find_asker(request, session, self.seals, house.maker)
            seen_at = devices.seen_at(session, asker.device_id) if asker.device_id else None
        if seen_at is not None and self.shop.clock() - seen_at > timedelta(minutes=5) and asker.device_id:
            with suppress(Mistake), self.shop.change(asker.name) as change:  # a full disk can still be read
                devices.seen(change, asker.device_id)
        return asker, house


def numbers_can_be(path: str) -> bool:
    """Whether every number in an address can be a row's; no database is asked for one that cannot."""
    numbers = (part for part in path.split("/") if part.isdecimal() and len(part) != _HASH_LENGTH)
    return all(len(part) <= _DIGITS and int(part) <= LARGEST for part in numbers)


def host_is_ours(host: str, serving: Serving) -> bool:
    """Whether the Host header names this server.

    A page of another site whose name was pointed at this computer (DNS rebinding) still sends its own
    name. A number is no name: it can only be the number the browser really asked.
    """
    name = _host_name(host)
    if name in HERE:
        return True
    if not serving.share:
        return False
    if name in serving.names:
        return True
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _host_name(host: str) -> str:
    try:
        return (urlsplit(f"//{host}").hostname or "").rstrip(".")
    except ValueError:
        return ""


def asked_from_here(request: Request) -> bool:
    """Whether a request comes from our own pages or from the person, by what browsers say about it.

    Browsers send Sec-Fetch-Site (W3C Fetch Metadata) and, with every change, Origin (RFC 6454). What sends
    neither is no browser; the CSRF check then decides.
    """
    site = request.headers.get("sec-fetch-site", "none")
    if request.method in SAFE:
        # A link on another site may lead here; a picture or script there may not be taken from here.
        return site in ("same-origin", "none") or request.headers.get("sec-fetch-mode") == "navigate"
    origin = request.headers.get("origin")
    if site not in ("same-origin", "none"):
        return False
    return origin is None or origin in (
        f"{scheme}://{request.headers.get('host')}" for scheme in ("http", "https")
    )


def body_limit(headers: Headers, limits: Limits, asker: Asker) -> int:
    """How many bytes a request's body may have; files are taken from the shop's own people only."""
    brings_files = headers.get("content-type", "").startswith("multipart/form-data")
    return limits.upload_bytes if brings_files and asker.works_here else limits.form_bytes


def too_large(limit: int) -> str:
    """What is said where it has more."""
    return f"This is too much at once; at most {limit >> 20} MB are taken."


def _limited(receive: Receive, limit: int) -> Receive:
    """Count what comes in; a body longer than it said is cut off."""
    came = 0

    async def counted() -> Message:
        nonlocal came
        message = await receive()
        if message["type"] == "http.request":
            came += len(message.get("body", b""))
            if came > limit:
                raise HTTPException(413, too_large(limit))
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            add_headers(MutableHeaders(scope=message))
        await send(message)

    return guarded


def add_headers(headers: MutableHeaders) -> None:
    """The headers behind every answer; a stricter policy of the answer's own stays."""
    for name, value in HEADERS.items():
        headers.setdefault(name, value)
    headers.setdefault("cache-control", "private, no-cache")
