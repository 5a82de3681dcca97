"""A first look at a photograph taken in: is there a leaf, what does its figure look like?

Pure of the shop's memory: a picture by its path in, values out, so that a worker process can do it.
"""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from seamlight.grain.photograph import ReadSettings, flat_leaves
from seamlight.layout.figure import Figure, figure_of
from seamlight.mistake import Mistake
from seamlight.photo import open_picture
from seamlight.photo.flat import Rgb

THUMBNAIL_PX = 480  # the longer side


@dataclass(frozen=True, eq=False)
class Look:
    """One photograph at a first look."""

    thumbnail: bytes  # JPEG of the picture, upright; empty: the file is no picture
    leaves: int  # 0: none could be read, 1, or 2: an opened pair
    figure: Figure | None  # of a single leaf
    why: str = ""  # why none could be read, one line


@dataclass(frozen=True)
class LookSaid:
    """What a kept look says, without its figure."""

    leaves: int
    why: str
    figure: bool  # whether there is one to be matched


def look_at(path: Path, settings: ReadSettings) -> Look:
    """Look at one photograph; what is wrong with it is told, never raised."""
    try:
        picture = open_picture(path)
    except Mistake as mistake:
        return Look(b"", 0, None, _why(mistake, path))
    small = thumbnail(picture.rgb)
    try:
        (flat,) = flat_leaves(path, settings, leaves="one")
    except Mistake as mistake:
        try:
            return Look(small, len(flat_leaves(path, settings, leaves="pair")), None)
        except Mistake:
            return Look(small, 0, None, _why(mistake, path))
    return Look(small, 1, figure_of(flat))


def _why(mistake: Mistake, path: Path) -> str:
    """What is wrong, in one line that does not name the kept file: its name says nothing to a person."""
    where = mistake.where.replace(path.name, "").strip(" :")
    line = str(Mistake(mistake.what, where=where, do=mistake.do))
    return line.replace(f"{path.name}: ", "").replace(path.name, "the photograph")


def look_bytes(look: Look) -> bytes:
    """A look, without its thumbnail, as bytes that `look_from_bytes` reads back."""
    held = io.BytesIO()
    says = np.array(json.dumps({"leaves": look.leaves, "why": look.why}))
    figure = look.figure
    if figure is None:
        np.savez_compressed(held, says=says)
    else:
        size = np.array([figure.width_mm, figure.length_mm])
        np.savez_compressed(held, says=says, lines=figure.lines, size=size)
    return held.getvalue()


def look_from_bytes(data: bytes) -> Look:
    """The look that was kept, without its thumbnail.

    Raises:
        Mistake: the bytes are no kept look.
    """
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as kept:
            says = json.loads(str(kept["says"]))
            figure = Figure(kept["lines"], *map(float, kept["size"])) if "lines" in kept.files else None
            return Look(b"", int(says["leaves"]), figure, str(says["why"]))
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile) as error:
        raise Mistake("is no kept look", where="look", do="have the photograph looked at again") from error


def look_said(path: Path) -> LookSaid | None:
    """What the look kept there says; None where there is none. Its figure stays unread."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            says = json.loads(str(kept["says"]))
            return LookSaid(int(says["leaves"]), str(says["why"]), "lines" in kept.files)
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile):
        return None


def thumbnail(rgb: Rgb, longest_px: int = THUMBNAIL_PX) -> bytes:
    """A small JPEG of an (h, w, 3) picture."""
    height, width = rgb.shape[:2]
    ratio = min(1.0, longest_px / max(height, width))
    size = max(1, round(width * ratio)), max(1, round(height * ratio))
    return jpeg(np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8), quality=82)


def jpeg(rgb: Rgb, quality: int = 90) -> bytes:
    """An (h, w, 3) picture as the bytes of a JPEG."""
    held = io.BytesIO()
    Image.fromarray(rgb).save(held, "JPEG", quality=quality)
    return held.getvalue()
