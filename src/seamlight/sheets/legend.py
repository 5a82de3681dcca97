"""The legend: each line as it is drawn on wood, with what it stands for."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PIL import Image, ImageDraw

from seamlight.sheets.ink import INK, PAPER, letters, width_px
from seamlight.sheets.lines import Layer, tag
from seamlight.sheets.opened import Look

WOOD = (150, 112, 76)  # a plain swatch to draw on


def draw_legend(width: int, size: int, *, hidden: bool = False) -> Image.Image:
    """A strip of swatches with words, as many rows as the width needs.

    Args:
        hidden: also the flaws of the face that does not show.
    """
    entries = [entry for entry in _ENTRIES if hidden or entry[1] is not _hidden]
    swatch, gap, row_high = round(size * 2.6), round(size * 1.1), round(size * 1.9)
    places, x, y = [], 0.0, 0
    for words, _ in entries:
        wide = swatch + size * 0.5 + width_px(words, size) + gap
        if x > 0 and x + wide - gap > width:
            x, y = 0.0, y + row_high
        places.append((round(x), y))
        x += wide
    picture = Image.new("RGB", (width, y + row_high), PAPER)
    draw = ImageDraw.Draw(picture)
    for (words, paint), (x0, y0) in zip(entries, places, strict=True):
        box = Image.new("RGB", (swatch, round(size * 1.3)), WOOD)
        paint(box, Look(size / 14, size * 0.7))
        picture.paste(box, (x0, y0))
        draw.text(
            (x0 + swatch + size * 0.5, y0 + size * 0.65), words, font=letters(size), fill=INK, anchor="lm"
        )
    return picture


def _level(box: Image.Image) -> np.ndarray:
    return np.array([[4.0, box.height / 2], [box.width - 4.0, box.height / 2]])


def _stroke(name: str) -> Callable[[Image.Image, Look], None]:
    def paint(box: Image.Image, look: Look) -> None:
        layer = Layer(*box.size)
        layer.line(_level(box), getattr(look, name))
        layer.over(box)

    return paint


def _hatch(box: Image.Image, look: Look) -> None:
    layer = Layer(*box.size)
    layer.hatch(_oval(box), look.hatch_px, look.flaw)
    layer.over(box)


def _oval(box: Image.Image) -> np.ndarray:
    w, h = box.size
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    return np.column_stack([w / 2 + h * 0.6 * np.cos(turn), h / 2 + h * 0.34 * np.sin(turn)])


def _hidden(box: Image.Image, look: Look) -> None:
    layer = Layer(*box.size)
    layer.ring(_oval(box), look.hidden_flaw)
    layer.over(box)


def _veil(box: Image.Image, look: Look) -> None:
    layer = Layer(*box.size)
    w, h = box.size
    layer.veil(np.array([[0.0, h / 2], [w, h / 2], [w, h], [0.0, h]]))
    layer.line(_level(box), look.joint)
    layer.over(box)


def _number(box: Image.Image, look: Look) -> None:
    tag(box, "4.2", (box.width / 2, box.height / 2), look.letters)


_ENTRIES: tuple[tuple[str, Callable[[Image.Image, Look], None]], ...] = (
    ("outline", _stroke("outline")),
    ("trim", _stroke("trim")),
    ("joint line", _stroke("joint")),
    ("soundhole, bridge, fingerboard", _stroke("zone")),
    ("flaw", _hatch),
    ("flaw of the face not shown", _hidden),
    ("wood to plane off", _veil),
    ("room to spare, written where it is least", _number),
    ("short of wood", _stroke("short")),
)
