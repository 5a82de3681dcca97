"""A reading or a layout that nothing is kept of: what the process beside the server is asked for."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from seamlight.grain.document import ReadDocument
from seamlight.grain.photograph import ReadSettings, read_photograph
from seamlight.layout.document import LayoutDocument
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.photographs import PairPhotographs, lay_out_pair, read_pair
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Rgb
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.reading import reading_picture
from seamlight.units import Unit


@dataclass(frozen=True)
class ReadOnce:
    """One leaf read: its document and its picture (PNG)."""

    document: ReadDocument
    picture: bytes


@dataclass(frozen=True)
class LaidOutOnce:
    """One pair laid out: its document and the picture of its openings (PNG)."""

    document: LayoutDocument
    picture: bytes


def read_once(path: Path, settings: ReadSettings, units: Unit) -> ReadOnce:
    """Read the one leaf in a photograph.

    Raises:
        Mistake: what is wrong with it.
    """
    reading = read_photograph(path, settings)
    return ReadOnce(ReadDocument.of(reading), _png(reading_picture(reading, units=units)))


def lay_out_once(
    photographs: PairPhotographs,
    settings: ReadSettings,
    outline: Outline,
    place: LayoutSettings,
    units: Unit,
) -> LaidOutOnce:
    """Read a pair and lay it out for one outline.

    Raises:
        Mistake: what is wrong with it.
    """
    pair = read_pair(photographs, settings)
    layout = lay_out_pair(pair, outline, place)
    flat_b = pair.b.flat if pair.b is not None else None
    drawn = openings_picture(layout, pair.a.flat, flat_b, units=units)
    return LaidOutOnce(LayoutDocument.of(layout, pair.a, pair.b), _png(drawn))


def _png(rgb: Rgb) -> bytes:
    held = io.BytesIO()
    Image.fromarray(rgb).save(held, "PNG")
    return held.getvalue()
