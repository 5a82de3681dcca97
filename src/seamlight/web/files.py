"""Kept files as they are sent: inline only as pictures a browser shows, everything else to be saved."""

from __future__ import annotations

import re
from urllib.parse import quote

from fastapi import APIRouter, Request
from sqlalchemy import or_, select
from sqlalchemy.orm import Session
from starlette.responses import FileResponse

from seamlight.shop.shop import Shop
from seamlight.shop.tables import Assignment, Build, File, PairPhoto, Reading
from seamlight.web.access import Asker, Asks
from seamlight.web.errors import nothing_here

router = APIRouter()

SHOWN = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/webp": ".webp",
}
SAVED = {"application/pdf": ".pdf", "image/tiff": ".tif", "image/heif": ".heic"}
# A file opened by itself can do nothing, whatever it holds.
HEADERS = {
    "content-security-policy": "default-src 'none'; sandbox; frame-ancestors 'none'",
    "cache-control": "private, max-age=31536000, immutable",
}


@router.get("/files/{sha}")
def kept_file(request: Request, sha: str, asker: Asks) -> FileResponse:
    """A kept file by its SHA-256; a student gets those of their own instrument only."""
    shop: Shop = request.app.state.shop
    if not re.fullmatch(r"[0-9a-f]{64}", sha):
        raise nothing_here("There is no such file.")
    with shop.read() as session:
        file = session.get(File, sha)
        if file is None or not may_see(session, asker, sha):
            raise nothing_here("There is no such file.")
    path = shop.files.path(sha)
    if not path.is_file():
        raise nothing_here("The file is missing from the shop's folder; Shop, Health says more.")
    return send(path, file.media_type, sha[:12])


def send(path: str | object, media_type: str, name: str) -> FileResponse:
    """A file as what it is, and as nothing else.

    Args:
        path: where it lies; never made from a name that someone gave.
        media_type: as it was found by its content when it was taken in.
        name: what a saved file is called, without its ending.
    """
    shown = media_type in SHOWN
    kept_as = media_type if shown or media_type in SAVED else "application/octet-stream"
    ending = (SHOWN | SAVED).get(media_type, ".bin")
    return FileResponse(
        str(path),
        media_type=kept_as,
        headers=HEADERS,
        filename=f"{name}{ending}",
        content_disposition_type="inline" if shown else "attachment",
    )


def disposition(how: str, name: str) -> str:
    """The header that names a file, whatever letters the name has (RFC 6266 with RFC 8187)."""
    plain = "".join(
        letter if (letter.isascii() and letter.isalnum()) or letter in "._- " else "_" for letter in name
    )
    if plain == name:
        return f'{how}; filename="{name}"'
    return f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"


def may_see(session: Session, asker: Asker, sha: str) -> bool:
    """Whether the asker may see a file: the shop's own people all, a student their instrument's."""
    if asker.works_here:
        return True
    own_builds = select(Build.id).where(Build.student_id == asker.student_id, Build.deleted_at.is_(None))
    pairs = select(Assignment.pair_id).where(Assignment.build_id.in_(own_builds))
    photo = select(PairPhoto.id).where(
        PairPhoto.file_sha256 == sha, PairPhoto.deleted_at.is_(None), PairPhoto.pair_id.in_(pairs)
    )
    if session.scalar(photo.limit(1)) is not None:
        return True
    readings = select(Reading.files).where(
        Reading.deleted_at.is_(None),
        or_(
            Reading.student_id == asker.student_id,
            Reading.build_id.in_(own_builds),
            Reading.pair_id.in_(pairs),
        ),
    )
    return any(sha in files for files in session.scalars(readings))
