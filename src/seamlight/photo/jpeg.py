"""A JPEG decoded whole or not at all.

The decoder fills what is missing of a damaged file with grey and says so on the process's standard error
only. What it says is heard here instead of shown; whatever else was written there meanwhile is passed on.
"""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Callable
from typing import TypeVar

import cv2
import numpy as np

from seamlight.photo.flat import Rgb

# OpenCV from 4.11 decodes to RGB at once.
_RGB_AT_ONCE = hasattr(cv2, "IMREAD_COLOR_RGB")
_AS_STORED = getattr(cv2, "IMREAD_COLOR_RGB", cv2.IMREAD_COLOR) | cv2.IMREAD_IGNORE_ORIENTATION

# What libjpeg says (jerror.h) where picture is missing, and what it says of things that do no harm.
_MISSING = (b"premature end", b"bad Huffman code", b"Premature end of JPEG file", b"Invalid progressive")
_HARMLESS = (b"extraneous bytes", b"Unknown Adobe color transform", b"Invalid SOS parameters", b"JFIF")
_STANDARD_ERROR = 2
_ONE_AT_A_TIME = threading.Lock()
_Made = TypeVar("_Made")


def whole_jpeg(data: bytes) -> Rgb | None:
    """(h, w, 3) pixels as stored, before any turn; None where some of the picture is missing."""
    if not _ends(data):
        return None
    found, said = _heard(lambda: cv2.imdecode(np.frombuffer(data, np.uint8), _AS_STORED))
    if found is None or any(word in said for word in _MISSING):
        return None
    return np.asarray(found if _RGB_AT_ONCE else cv2.cvtColor(found, cv2.COLOR_BGR2RGB), np.uint8)


def _ends(data: bytes) -> bool:
    """Whether the end-of-image marker follows the first scan.

    Inside a scan the byte FF is always stuffed with 00 (ITU-T T.81, B.1.1.5), so FF D9 there is the end. A
    thumbnail's own end lies in a header segment before the scan.
    """
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return False
        marker = data[at + 1]
        if marker == 0xDA:
            # sought from the end, where it stands in a whole picture
            return data.rfind(b"\xff\xd9", at) > 0
        if marker == 0xFF or 0xD0 <= marker <= 0xD8 or marker == 0x01:
            at += 1 if marker == 0xFF else 2
            continue
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return False


def _heard(make: Callable[[], _Made]) -> tuple[_Made, bytes]:
    """What `make` gives, and what was written to standard error meanwhile; all but the decoder's goes on."""
    with _ONE_AT_A_TIME, tempfile.TemporaryFile() as ear:
        try:
            mouth = os.dup(_STANDARD_ERROR)
        except OSError:  # a process without standard error
            return make(), b""
        os.dup2(ear.fileno(), _STANDARD_ERROR)
        try:
            made = make()
        finally:
            os.dup2(mouth, _STANDARD_ERROR)
            ear.seek(0)
            said = ear.read()
            others = b"".join(line for line in said.splitlines(keepends=True) if not _decoders(line))
            if others:
                os.write(mouth, others)
            os.close(mouth)
    return made, said


def _decoders(line: bytes) -> bool:
    return any(word in line for word in (*_MISSING, *_HARMLESS, b"JPEG"))
