"""A first look at photographs taken in: is there a leaf, what does its figure look like, which are pairs?

Pure of the shop's memory: pictures by their paths in, values out, so that a worker process can do it.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from seamlight.grain.photograph import ReadSettings, flat_leaves
from seamlight.layout.figure import Figure, figure_of
from seamlight.layout.folder import find_pairs
from seamlight.layout.register import NONE_BELOW, PAIR_FROM
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
class Proposal:
    """Photographs that belong together, by their places in the list that was given."""

    a: int
    b: int | None
    match: float | None  # None: by name only, an opened pair in one picture, or alone
    says: str


def look_at(path: Path, settings: ReadSettings) -> Look:
    """Look at one photograph; what is wrong with it is told, never raised."""
    try:
        picture = open_picture(path)
    except Mistake as mistake:
        return Look(b"", 0, None, str(mistake))
    small = thumbnail(picture.rgb)
    try:
        (flat,) = flat_leaves(path, settings, leaves="one")
    except Mistake as mistake:
        try:
            return Look(small, len(flat_leaves(path, settings, leaves="pair")), None)
        except Mistake:
            return Look(small, 0, None, str(mistake))
    return Look(small, 1, figure_of(flat))


def propose(names: Sequence[str], looks: Sequence[Look]) -> tuple[Proposal, ...]:
    """Which photographs are pairs: by matching mirrored pictures, or by names that end in a and b.

    Every photograph is in exactly one proposal; opened pairs stand for themselves, what has no partner or
    could not be read is alone with the reason.
    """
    readable = [i for i, look in enumerate(looks) if look.figure is not None]
    found = find_pairs([(names[i], figure) for i in readable if (figure := looks[i].figure) is not None])
    proposals = [
        Proposal(readable[i], readable[j], how.match, _pair_says(how.match))
        for (i, j), how in zip(found.pairs, found.registrations, strict=True)
    ]
    met = {place for p in proposals for place in (p.a, p.b)}
    for place, look in enumerate(looks):
        if place in met:
            continue
        says = "an opened pair in one picture" if look.leaves == 2 else look.why or "no partner found"
        proposals.append(Proposal(place, None, None, says))
    return tuple(sorted(proposals, key=lambda p: p.a))


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


def _pair_says(match: float) -> str:
    if match >= PAIR_FROM:
        return f"a pair: the mirrored pictures match {match:.2f}"
    if match >= NONE_BELOW:
        return f"perhaps a pair: the mirrored pictures match {match:.2f}; look before you confirm"
    return f"a pair by name, though the pictures match only {match:.2f}"
