"""Paper, graphite and lettering that all pictures and sheets share."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import reportlab
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

Colour = tuple[int, int, int]

PAPER: Colour = (250, 247, 240)
INK: Colour = (28, 26, 24)
QUIET: Colour = (94, 88, 82)
RULE: Colour = (206, 200, 190)
WARN: Colour = (176, 58, 10)  # vermilion: told from ink and blue by the colour-blind too
LIGHT: Colour = (255, 252, 244)  # lines on wood ...
DARK: Colour = (18, 16, 14)  # ... and their edge

# Bitstream Vera, as the declared dependency ReportLab ships it: the same letters on every system
_FONTS = Path(reportlab.__file__).parent / "fonts"
VERA, VERA_BOLD = _FONTS / "Vera.ttf", _FONTS / "VeraBd.ttf"


@cache
def letters(size_px: float, bold: bool = False) -> ImageFont.FreeTypeFont:
    """A font for Pillow of a given size."""
    return ImageFont.truetype(str(VERA_BOLD if bold else VERA), size_px)


def width_px(text: str, size_px: float, bold: bool = False) -> float:
    """How wide a line of text is."""
    return letters(size_px, bold).getlength(text)


def fold(text: str, room_px: float, size_px: float, bold: bool = False) -> list[str]:
    """Text broken at blanks into lines no wider than the room; a longer word is cut."""
    lines: list[str] = []
    for word in text.split():
        if lines and width_px(f"{lines[-1]} {word}", size_px, bold) <= room_px:
            lines[-1] += f" {word}"
            continue
        while len(word) > 1 and width_px(word, size_px, bold) > room_px:
            fits = max(
                (n for n in range(1, len(word)) if width_px(word[:n], size_px, bold) <= room_px), default=1
            )
            lines.append(word[:fits])
            word = word[fits:]
        lines.append(word)
    return lines


def cut_to(text: str, room_px: float, size_px: float, bold: bool = False) -> str:
    """Text, its end left out with an ellipsis where it does not fit."""
    if width_px(text, size_px, bold) <= room_px:
        return text
    for n in range(len(text), 0, -1):
        if width_px(f"{text[:n]}…", size_px, bold) <= room_px:
            return f"{text[:n]}…"
    return "…"


def pdf_letters(canvas: Canvas, size_pt: float, bold: bool = False) -> None:
    """Set the same letters on a PDF page."""
    canvas.setFont(pdf_font(bold), size_pt)


@cache
def pdf_font(bold: bool = False) -> str:
    """The name under which a font is known to ReportLab; registers it the first time."""
    name, path = ("Vera-Bold", VERA_BOLD) if bold else ("Vera", VERA)
    pdfmetrics.registerFont(TTFont(name, str(path)))
    return name


def known(text: str) -> str:
    """Text with `?` for each letter that the lettering lacks."""
    pdf_font()
    has = pdfmetrics.getFont("Vera").face.charWidths
    return "".join(c if ord(c) in has else "?" for c in text)
