"""The seam of a kept light reading laid straight: as it was made, or made again from its kept pictures."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import FileResponse

from seamlight.seam import Bench
from seamlight.seam.clicks import parse_ends, parse_middles
from seamlight.seam.document import SeamDocument
from seamlight.shop.missing import Missing
from seamlight.shop.readings import readings
from seamlight.shop.seam_bench import LIGHT, straight_key
from seamlight.shop.shop import Shop
from seamlight.shop.tables import File
from seamlight.web.seam_asked import neck_typed, read_pictures
from seamlight.web.seam_reading import SeamAsked
from seamlight.web.uploads import Taken

router = APIRouter(prefix="/wood/pairs/{pair_id}/seam", include_in_schema=False)
HEADERS = {"cache-control": "private, no-cache"}


@router.get("/{reading_id}/straight.jpg")
def straight(request: Request, pair_id: int, reading_id: int) -> FileResponse:
    """The neck end at the left."""
    shop: Shop = request.app.state.shop
    path = shop.made.path(straight_key(reading_id))
    if not path.is_file():
        make_again(request, pair_id, reading_id)
    return FileResponse(path, media_type="image/jpeg", headers=HEADERS)


def make_again(request: Request, pair_id: int, reading_id: int) -> None:
    """Lay the seam of a kept reading straight once more: made things may be taken away at any time.

    Raises:
        Mistake: there is no such reading, or its pictures are missing.
    """
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        kept = readings(session, pair_id=pair_id, verb=LIGHT)
        row = next((one for one in kept if one.id == reading_id), None)
        if row is None:
            raise Missing("there is no such reading of this joint's light", do="look at its page")
        document, says = SeamDocument.model_validate(row.document), row.says
        files = [(sha, session.get(File, sha)) for sha in row.files if sha != says.get("lamp")]
    pictures = []
    for sha, file in files:
        path = shop.files.path(sha)
        if file is None or not path.is_file():
            raise Missing(
                "the reading's picture is missing from the shop's folder", do="look at Shop, Health"
            )
        pictures.append(Taken(path.read_bytes(), file.media_type, sha[:12]))
    # where the seam lies is all that is asked: no shims, no lamp
    asked = SeamAsked(
        length_mm=document.length_mm,
        tags=None,
        shims_mm=None,
        distance_mm=400.0,
        neck_at=neck_typed(says),
        ends_px=parse_ends(str(says.get("ends") or ""), len(pictures)),
        middle_px=parse_middles(str(says.get("middle") or ""), len(pictures)),
    )
    found = read_pictures(request, pictures, None, asked, Bench())
    shop.made.keep(straight_key(reading_id), found.straight)
