"""Made things as they are sent: small pictures, flat pictures. They can be made again at any time."""

from __future__ import annotations

from pathlib import PurePath

from fastapi import APIRouter, Request
from starlette.responses import FileResponse

from seamlight.mistake import Mistake
from seamlight.shop.shop import Shop
from seamlight.web.errors import nothing_here

router = APIRouter()

SENT = {".jpg": "image/jpeg", ".png": "image/png"}
HEADERS = {"cache-control": "private, no-cache"}  # made anew under the same name; the browser asks whether


@router.get("/made/{key}", include_in_schema=False)
def made_thing(request: Request, key: str) -> FileResponse:
    """A made picture by its key."""
    shop: Shop = request.app.state.shop
    media_type = SENT.get(PurePath(key).suffix)
    try:
        path = shop.made.path(key)
    except Mistake as mistake:
        raise nothing_here("There is no such picture.") from mistake
    if media_type is None or not path.is_file():
        raise nothing_here("This picture is not made yet.")
    return FileResponse(path, media_type=media_type, headers=HEADERS)
