"""The check that a change was asked for by one of our own pages.

A signed cookie holds a random value; every form, or the header X-CSRF, repeats a keyed hash of it and of
who asks. Another site can neither read the page that holds the hash nor make one.
"""

from __future__ import annotations

import hmac
import secrets

from fastapi import HTTPException, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from seamlight.web.access import SAFE, Asker, who_asks
from seamlight.web.seals import Seals
from seamlight.web.serving import Serving

COOKIE = "seamlight_form"
FIELD = "csrf"
HEADER = "x-csrf"
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


def token_for(request: Request) -> str:
    """What this page's forms carry; makes the asker's random value where there is none yet."""
    seals: Seals = request.app.state.seals
    value = _kept_value(request, seals)
    if value is None:
        value = getattr(request.state, "new_form_value", None) or secrets.token_urlsafe(24)
        request.state.new_form_value = value
    return _expected(seals, value, who_asks(request))


def keep_value(request: Request, response: Response) -> None:
    """Set the cookie where `token_for` made a new value."""
    value = getattr(request.state, "new_form_value", None)
    if value is not None:
        sealed = request.app.state.seals.seal("form", value)
        response.set_cookie(COOKIE, sealed, httponly=True, samesite="strict", path="/")


async def asked_from_our_page(request: Request) -> None:
    """FastAPI dependency of the whole house: CSRF check, count and size of files.

    Raises:
        HTTPException: 403 where the check fails, 413 where too many or too large files came.
    """
    if request.method in SAFE:
        return
    seals: Seals = request.app.state.seals
    value = _kept_value(request, seals)
    given = request.headers.get(HEADER) or await _field(request)
    expected = _expected(seals, value, who_asks(request)) if value else ""
    if not value or not given or not hmac.compare_digest(expected.encode(), given.encode()):
        raise HTTPException(403, "This page was open for too long, or the request came from elsewhere.")


def _kept_value(request: Request, seals: Seals) -> str | None:
    sealed = request.cookies.get(COOKIE)
    return seals.open("form", sealed) if sealed else None


def _expected(seals: Seals, value: str, asker: Asker) -> str:
    return seals.mark("form", f"{asker.key} {value}")


async def _field(request: Request) -> str | None:
    """The form's own field; counts the files on the way."""
    if not request.headers.get("content-type", "").startswith(_FORMS):
        return None
    form = await request.form()
    serving: Serving = request.app.state.serving
    files = [value for _, value in form.multi_items() if isinstance(value, UploadFile)]
    if len(files) > serving.limits.files:
        raise HTTPException(413, f"Send at most {serving.limits.files} files at once.")
    if any((file.size or 0) > serving.limits.file_bytes for file in files):
        raise HTTPException(413, f"A file may have at most {serving.limits.file_bytes >> 20} MB.")
    given = form.get(FIELD)
    return given if isinstance(given, str) else None
