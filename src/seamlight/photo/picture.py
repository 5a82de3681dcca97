"""A picture file as upright 8-bit colour, with what its EXIF says about the lens."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pillow_heif
from PIL import Image, UnidentifiedImageError

from seamlight.mistake import Mistake
from seamlight.photo.exif import lens_of, turn_of, upright
from seamlight.photo.flat import Rgb
from seamlight.photo.jpeg import whole_jpeg

MOST_PIXELS = 200_000_000  # a 200 megapixel phone still passes
LEAST_SIDE_PX = 64

_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_FORMATS = "a JPEG, PNG, TIFF, WebP or HEIC picture"


@dataclass(frozen=True, eq=False)
class Picture:
    """A photograph after its EXIF turn."""

    rgb: Rgb  # (h, w, 3)
    focal_px: float | None = None  # as the EXIF says it; None where it says nothing of use
    dpi: float | None = None  # as a scanner wrote it; None where the file says none or a placeholder
    name: str = ""  # for messages


def open_picture(path: Path | str) -> Picture:
    """Open a JPEG, PNG, TIFF, WebP or HEIC file; 16-bit, gray, CMYK and clear pictures become 8-bit RGB.

    Raises:
        Mistake: the file is missing, is no picture, is cut short, or is too small or too large.
    """
    path = Path(path)
    name = path.name
    try:
        data = path.read_bytes()
    except OSError as error:
        raise Mistake(
            f"cannot be read ({error.strerror})", where=str(path), do="name a picture file"
        ) from error
    if not data:
        raise Mistake("the file is empty", where=name, do=f"give {_FORMATS}")
    pillow_heif.register_heif_opener()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        picture = _header(data, name)
        lens = lens_of(picture)
        rgb = _pixels(data, picture, name)
        turn = turn_of(picture, data)
    return Picture(upright(rgb, turn), lens.focal_px, lens.dpi, name)


def _header(data: bytes, name: str) -> Image.Image:
    """The picture with its size and EXIF known, not decoded yet."""
    most, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        picture = Image.open(io.BytesIO(data))
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, RuntimeError) as error:
        if _begins_as_picture(data):
            raise _cut_short(name) from error
        raise Mistake("is not a picture this program can open", where=name, do=f"give {_FORMATS}") from error
    finally:
        Image.MAX_IMAGE_PIXELS = most
    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise Mistake(
            f"has {width * height / 1e6:.0f} megapixels, more than {MOST_PIXELS / 1e6:.0f}",
            where=name,
            do="save it smaller; 12 to 50 are plenty",
        )
    if min(width, height) < LEAST_SIDE_PX:
        raise Mistake(
            f"is {width} x {height} pixels, too small to hold a leaf",
            where=name,
            do="give the photograph itself",
        )
    return picture


def _begins_as_picture(data: bytes) -> bool:
    """Whether the first bytes are those of a kind of picture that is opened here.

    JPEG: ITU-T T.81, B.1.1.3; PNG: W3C PNG, 5.2; TIFF: Adobe TIFF 6.0, 2; WebP: RFC 9649, 2.4; HEIC: ISO/IEC
    23008-12, 10.2 (all from memory).
    """
    if data[4:8] == b"ftyp":
        return data[8:12] in _HEIC_BRANDS
    if data[:4] == b"RIFF":
        return data[8:12] == b"WEBP"
    return data.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*"))


def _pixels(data: bytes, picture: Image.Image, name: str) -> Rgb:
    """(h, w, 3) as stored, before any turn."""
    if picture.format == "JPEG" and picture.mode in ("RGB", "L"):
        rgb = whole_jpeg(data)
        if rgb is None:
            raise _cut_short(name)
        return rgb
    try:
        picture.load()
        return _eight_bit_rgb(picture)
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError) as error:
        raise _cut_short(name) from error


def _cut_short(name: str) -> Mistake:
    return Mistake("the picture is damaged or cut short", where=name, do="copy it from the camera again")


def _eight_bit_rgb(picture: Image.Image) -> Rgb:
    """Any mode as RGB: 16-bit scaled down, CMYK converted, what is transparent laid on white."""
    if picture.mode in ("I;16", "I;16B", "I;16L", "I;16N", "I", "F"):
        values = np.asarray(picture).astype(np.float32)
        most = 65535.0 if values.max(initial=0) > 255 else 255.0
        if picture.mode == "F" and values.max(initial=0) <= 1.0:
            most = 1.0
        gray = np.clip(values * (255.0 / most), 0, 255).astype(np.uint8)
        return np.repeat(gray[:, :, None], 3, axis=2)
    if "A" in picture.getbands() or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        white = Image.new("RGBA", clear.size, (255, 255, 255, 255))
        picture = Image.alpha_composite(white, clear)
    return np.asarray(picture.convert("RGB"), np.uint8).copy()
