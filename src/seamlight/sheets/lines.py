"""Lines that show on spruce and on ebony: light with a dark edge; hatching, veils and tags.

Drawn on a layer several times finer than the picture, then brought down, so that edges are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely.affinity import rotate
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from seamlight.photo.flat import Points, Rgb
from seamlight.sheets.ink import DARK, INK, LIGHT, PAPER, Colour, letters

_BITS = 4  # of a fixed-point number's fraction
FINER = 3  # the layer's pixels for each of the picture's


@dataclass(frozen=True)
class Stroke:
    """A line's looks, in picture pixels."""

    width: float
    edge: float = 1.0
    dash: tuple[float, float] | None = None
    colour: Colour = LIGHT


class Layer:
    """A fine transparent sheet over a picture; coordinates are picture pixels."""

    def __init__(self, width: int, height: int) -> None:
        # red, green, blue already weighed by the fourth, which is how far the sheet covers
        self.fine = np.zeros((height * FINER, width * FINER, 4), np.uint8)

    def line(self, points: Points, stroke: Stroke) -> None:
        """A light line with a dark edge, dashed or solid."""
        pieces = dashes(points, *stroke.dash) if stroke.dash else [np.asarray(points, dtype=float)]
        for grown, colour in ((2 * stroke.edge, DARK), (0.0, stroke.colour)):
            wide = max(1, round((stroke.width + grown) * FINER))
            cv2.polylines(self.fine, [_fine(p) for p in pieces], False, (*colour, 255), wide, shift=_BITS)

    def ring(self, points: Points, stroke: Stroke) -> None:
        """A closed line."""
        self.line(np.vstack([points, points[:1]]), stroke)

    def hatch(self, points: Points, spacing: float, stroke: Stroke) -> None:
        """An area's outline and slanting lines across it."""
        for piece in hatching(points, spacing):
            self.line(piece, stroke)
        self.ring(points, stroke)

    def veil(self, points: Points, strength: float = 0.62) -> None:
        """A thin layer of paper over an area, drawn before the lines on it."""
        shade = [round(strength * part) for part in (*PAPER, 255)]
        cv2.fillPoly(self.fine, [_fine(points)], shade, shift=_BITS)

    def over(self, picture: Image.Image, at: tuple[int, int] = (0, 0)) -> None:
        """Lay the layer over a picture, its corner at a pixel."""
        height, width = (n // FINER for n in self.fine.shape[:2])
        small = cv2.resize(self.fine, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32)
        box = (at[0], at[1], at[0] + width, at[1] + height)
        under = np.asarray(picture.crop(box).convert("RGB"), dtype=np.float32)
        mixed = under * (1 - small[..., 3:] / 255) + small[..., :3]
        picture.paste(Image.fromarray(np.clip(np.rint(mixed), 0, 255).astype(np.uint8)), box)


def _fine(points: Points) -> NDArray[np.int32]:
    """Picture pixels as the fine layer's, in fixed-point numbers; pixel centres there lie at integers."""
    return np.asarray(np.rint((np.asarray(points) * FINER - 0.5) * 2**_BITS), np.int32)


def dashes(points: Points, on: float, off: float) -> list[Points]:
    """A line cut into dashes of length `on`, `off` apart."""
    line = LineString(points)
    starts = np.arange(0.0, line.length, on + off)
    return [_between(line, s, min(s + on, line.length)) for s in starts]


def _between(line: LineString, start: float, end: float) -> Points:
    coordinates = np.asarray(line.coords)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(coordinates, axis=0).T))])
    inner = coordinates[(along > start) & (along < end)]
    ends = [np.asarray(line.interpolate(s).coords[0]) for s in (start, end)]
    return np.vstack([ends[0], *inner, ends[1]])


def hatching(points: Points, spacing: float) -> list[Points]:
    """Lines at 45 degrees across an area, `spacing` apart."""
    area = Polygon(points).buffer(0)
    if area.is_empty:
        return []
    x0, y0, x1, y1 = rotate(area, 45, origin=(0, 0)).bounds
    rows = np.arange(np.ceil(y0 / spacing) * spacing, y1, spacing)
    slanted = [rotate(LineString([(x0 - 1, y), (x1 + 1, y)]), -45, origin=(0, 0)) for y in rows]
    return [np.asarray(p.coords) for line in slanted for p in _lines(line.intersection(area))]


def _lines(shape: BaseGeometry) -> list[LineString]:
    if isinstance(shape, LineString):
        return [] if shape.is_empty or shape.length == 0 else [shape]
    return list(shape.geoms) if isinstance(shape, MultiLineString) else []


def tag(
    picture: Image.Image, text: str, middle: tuple[float, float], size: float, colour: Colour = INK
) -> None:
    """A few words on a slip of paper, kept inside the picture."""
    draw = ImageDraw.Draw(picture)
    font = letters(size, bold=True)
    wide, high, pad = font.getlength(text), size * 0.78, size * 0.3
    x = min(max(middle[0], wide / 2 + pad), picture.width - wide / 2 - pad)
    y = min(max(middle[1], high / 2 + pad), picture.height - high / 2 - pad)
    box = (x - wide / 2 - pad, y - high / 2 - pad, x + wide / 2 + pad, y + high / 2 + pad)
    draw.rectangle(box, fill=PAPER, outline=colour, width=max(1, round(size / 14)))
    draw.text((x, y), text, font=font, fill=colour, anchor="mm")


def words_on_wood(
    picture: Image.Image, text: str, at: tuple[float, float], size: float, anchor: str = "mm"
) -> None:
    """Light letters with a dark edge."""
    ImageDraw.Draw(picture).text(
        at,
        text,
        font=letters(size, bold=True),
        fill=LIGHT,
        anchor=anchor,
        stroke_width=max(1, round(size / 9)),
        stroke_fill=DARK,
    )


def as_rgb(picture: Image.Image) -> Rgb:
    """A Pillow picture as (h, w, 3) uint8."""
    return np.asarray(picture.convert("RGB")).copy()
