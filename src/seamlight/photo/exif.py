"""What a picture's EXIF says: which way is up, the focal length in pixels, a scanner's dots per inch.

Tags and their meaning: CIPA DC-008, Exchangeable image file format, version 2.32.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

import cv2
import numpy as np
from PIL import Image

from seamlight.photo.flat import Rgb

_ORIENTATION = 0x0112
_EXIF_IFD = 0x8769
_FOCAL_MM, _FOCAL_35 = 0x920A, 0xA405
_PLANE_X, _PLANE_UNIT = 0xA20E, 0xA210
_PIXELS_X = 0xA002
_TAKEN, _TAKEN_ZONE = 0x9003, 0x9011
_UNIT_MM = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}

# Diagonal of the 24 x 36 mm frame that the 35 mm equivalent refers to.
_FRAME_DIAGONAL_MM = math.hypot(24.0, 36.0)

# A scan is finer than this; 72 and 96 are placeholders that cameras and editors write.
_LEAST_DPI = 100.0


@dataclass(frozen=True)
class Lens:
    """Focal length in pixels and resolution of a scan; None where the file says nothing of use."""

    focal_px: float | None
    dpi: float | None


def turn_of(picture: Image.Image, data: bytes) -> int:
    """EXIF orientation 1..8 that is still to be applied; 1 where there is none or it is senseless.

    Pillow turns TIFF pictures itself while loading, so this is asked after loading. In HEIC the container's
    own `irot` and `imir` boxes turn the picture while it is decoded and EXIF only repeats them (ISO/IEC
    23008-12); where neither box is there, EXIF counts.
    """
    try:
        value = int(picture.getexif().get(_ORIENTATION, 1))
        if picture.format == "HEIF":
            before = picture.info.get("original_orientation")
            value = 1 if before is None or _container_turns(data) else int(before)
    except (ValueError, TypeError, OSError, SyntaxError):
        return 1
    return value if 1 <= value <= 8 else 1


def taken_at(picture: Image.Image) -> datetime | None:
    """When the picture was taken, by its EXIF; None where it does not say.

    Without a zone in the file: as the clock showed.

    DateTimeOriginal and OffsetTimeOriginal, CIPA DC-008.
    """
    try:
        said = picture.getexif().get_ifd(_EXIF_IFD)
        at = datetime.strptime(str(said[_TAKEN]).strip("\0 "), "%Y:%m:%d %H:%M:%S")
        zone = str(said.get(_TAKEN_ZONE, "")).strip("\0 ")
        return datetime.fromisoformat(f"{at.isoformat()}{zone}") if zone else at
    except (KeyError, ValueError, TypeError, OSError, SyntaxError):
        return None


def _container_turns(data: bytes) -> bool:
    """Whether a HEIC file's `meta` box holds a turn or a mirroring."""
    at = data.find(b"meta")
    if at < 4:
        return False
    meta = data[at : at + int.from_bytes(data[at - 4 : at], "big")]
    return b"irot" in meta or b"imir" in meta


def upright(rgb: Rgb, orientation: int) -> Rgb:
    """The picture turned as EXIF orientation 1..8 says (CIPA DC-008, tag 0x0112)."""
    if orientation in (5, 6, 7, 8):
        rgb = np.asarray(cv2.transpose(rgb), np.uint8)
    if orientation in (2, 6, 3, 7):
        rgb = np.asarray(cv2.flip(rgb, 1), np.uint8)
    if orientation in (4, 3, 7, 8):
        rgb = np.asarray(cv2.flip(rgb, 0), np.uint8)
    return rgb


def lens_of(picture: Image.Image) -> Lens:
    """Focal length and resolution as the header says them."""
    return Lens(_focal_px(picture), _dpi(picture))


def _positive(value: object) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) and number > 0 else None


def _focal_px(picture: Image.Image) -> float | None:
    """From the sensor's own resolution where the file gives it, else from the 35 mm equivalent.

    f[px] = f[mm] * resolution[px/mm]; or f[px] = f35 * diagonal[px] / 43.27 mm, the equivalent being that of
    equal diagonal angle of view (CIPA DCG-001).
    """
    try:
        lens = picture.getexif().get_ifd(_EXIF_IFD)
    except (ValueError, TypeError, OSError, SyntaxError, KeyError):
        return None
    diagonal_px = math.hypot(*picture.size)
    found = []
    focal_mm, per_unit = _positive(lens.get(_FOCAL_MM)), _positive(lens.get(_PLANE_X))
    unit_mm = _UNIT_MM.get(lens.get(_PLANE_UNIT, 2))
    if focal_mm and per_unit and unit_mm:
        taken_px = _positive(lens.get(_PIXELS_X)) or max(picture.size)
        shrink = max(picture.size) / max(taken_px, min(picture.size))
        found.append(focal_mm * per_unit / unit_mm * min(shrink, 1.0))
    equivalent = _positive(lens.get(_FOCAL_35))
    if equivalent:
        found.append(equivalent * diagonal_px / _FRAME_DIAGONAL_MM)
    sensible = [focal for focal in found if 0.3 < focal / diagonal_px < 6.0]
    return sensible[0] if sensible else None


def _dpi(picture: Image.Image) -> float | None:
    said = picture.info.get("dpi")
    across = _positive(said[0]) if isinstance(said, tuple) and said else None
    return across if across is not None and across >= _LEAST_DPI else None
