"""What is taken in from a form: judged by its content, never by its name, and measured before decoding."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import PurePosixPath, PureWindowsPath

import pillow_heif
from PIL import Image, UnidentifiedImageError
from starlette.datastructures import UploadFile

from seamlight.mistake import Mistake
from seamlight.photo.exif import taken_at
from seamlight.web.serving import Limits

# Pillow's name of a format -> what the file is kept and sent as. MPO: a phone's JPEG with a second picture.
PICTURES = {
    "JPEG": "image/jpeg",
    "MPO": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "WEBP": "image/webp",
    "HEIF": "image/heif",
}
_DECODERS = ("JPEG", "PNG", "TIFF", "WEBP", "HEIF")
PDF, UNKNOWN = "application/pdf", "application/octet-stream"
_NO_PICTURE = (UnidentifiedImageError, KeyError, OSError, ValueError, SyntaxError, EOFError, RuntimeError)
_DO = "give a JPEG, PNG, TIFF, WebP or HEIC picture"
NAME_LENGTH = 120


@dataclass(frozen=True, eq=False)
class Taken:
    """One file as it was taken in."""

    data: bytes
    media_type: str
    name: str  # as a person is shown it; never a path
    width_px: int | None = None
    height_px: int | None = None
    taken_at: datetime | None = None  # UTC


def take_picture(upload: UploadFile, limits: Limits) -> Taken:
    """A picture from a form.

    Raises:
        Mistake: it is empty, too large in bytes or pixels, or no picture.
    """
    data, name = _bytes_of(upload, limits), plain_name(upload.filename)
    return picture(data, name, limits)


def take_paper(upload: UploadFile, limits: Limits) -> Taken:
    """Any file from a form: a picture or a PDF as what it is, everything else as bytes to be saved.

    Raises:
        Mistake: it is empty or too large.
    """
    data, name = _bytes_of(upload, limits), plain_name(upload.filename)
    if data.startswith(b"%PDF-"):
        return Taken(data, PDF, name)
    try:
        return picture(data, name, limits)
    except NoPicture:
        return Taken(data, UNKNOWN, name)


class NoPicture(Mistake):
    """The bytes are no picture of a kind that is taken."""


def picture(data: bytes, name: str, limits: Limits) -> Taken:
    """Bytes as a picture, by its header alone.

    Raises:
        Mistake: they are none, or it has too many pixels.
    """
    pillow_heif.register_heif_opener()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow's own, lower limit; ours follows
            with Image.open(io.BytesIO(data), formats=_DECODERS) as header:
                media_type, (width, height) = PICTURES[header.format or ""], header.size
                shot_at = taken_at(header)
    except Image.DecompressionBombError as error:
        raise _too_many(name, limits) from error
    except _NO_PICTURE as error:
        raise NoPicture("is not a picture this program can open", where=name, do=_DO) from error
    if width * height > limits.pixels:
        raise _too_many(name, limits)
    return Taken(data, media_type, name, width, height, shot_at.astimezone(UTC) if shot_at else None)


def _too_many(name: str, limits: Limits) -> Mistake:
    return Mistake(
        f"has more than {limits.pixels / 1e6:.0f} megapixels",
        where=name,
        do="save it smaller; 12 to 50 are plenty",
    )


def _bytes_of(upload: UploadFile, limits: Limits) -> bytes:
    """All of an upload, up to the limit; reads the spooled file itself, so that plain functions can."""
    upload.file.seek(0)
    data = upload.file.read(limits.file_bytes + 1)
    name = plain_name(upload.filename)
    if not data:
        raise Mistake("the file is empty", where=name, do="choose it again")
    if len(data) > limits.file_bytes:
        raise Mistake(f"has more than {limits.file_bytes >> 20} MB", where=name, do="save it smaller")
    return data


def plain_name(given: str | None) -> str:
    """The last part of a file's name, without what cannot be seen; for showing only."""
    last = PureWindowsPath(PurePosixPath(given or "").name).name
    seen = "".join(letter for letter in last if letter.isprintable()).strip()
    return seen[:NAME_LENGTH] or "the file"
