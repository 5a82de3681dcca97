"""Labels for pairs and leaves, at full size on a sheet of labels: a code that opens the page, a few words.

A leaf's label goes on its sawn face with its arrow toward end 1; the heavy bar is on the joint edge's side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import segno
from reportlab.pdfbase.pdfmetrics import stringWidth

from seamlight.mistake import Mistake
from seamlight.sheets.ink import INK, RULE, known, pdf_font
from seamlight.sheets.label_sheet import LabelSheet
from seamlight.sheets.page import BODY, PT, pdf_pages, put_text, set_ink

Side = Literal["left", "right"]

PAD_MM = 2.5  # printers and label sheets are off by a millimetre or so (common practice, no source)
QUIET_MODULES = 4  # blank round a code: ISO/IEC 18004 (value from memory)
LEAST_MODULE_MM = 0.33  # a phone at hand's length reads it (common practice, no source)
BAR_MM = 1.6
_TITLE_MM, _LINE_MM = 6.5, 3.4
_TIGHTEST = 0.6  # letters are not made smaller than this share


@dataclass(frozen=True)
class Label:
    """One label.

    Attributes:
        title: the pair's label, and the leaf's letter: "T12 A".
        address: what the code opens.
        lines: a few words, the most needed first.
        end_1_up: draws the arrow to end 1.
        joint: the side of the joint edge, end 1 up; None where none was chosen, or it is a pair's label.
    """

    title: str
    address: str
    lines: tuple[str, ...] = field(default=())
    end_1_up: bool = False
    joint: Side | None = None


def label_sheets(
    labels: Sequence[Label],
    sheet: LabelSheet,
    path: Path | str,
    *,
    first: int = 1,
    frames: bool = False,
) -> int:
    """Write labels as PDF pages at full size.

    Args:
        labels: what to print.
        sheet: where labels lie on the paper.
        path: the file, whole or not at all.
        first: the first free place of the first sheet, from 1.
        frames: draw each label's edge, for a trial on plain paper.

    Returns:
        How many sheets.

    Raises:
        Mistake: nothing to print, measures that cannot be, or a label too small for its code.
    """
    if not labels:
        raise Mistake("there is nothing to label", where="labels", do="choose at least one pair")
    spots = list(sheet.checked().filled(len(labels), first))
    with pdf_pages(path, sheet.page_mm, "Labels") as canvas:
        page_now = 0
        for label, (page, place) in zip(labels, spots, strict=True):
            if page != page_now:
                canvas.showPage()
                page_now = page
            x, y = sheet.corner_mm(place)
            canvas.saveState()
            canvas.translate(x * PT, (sheet.page_mm[1] - y - sheet.label_mm[1]) * PT)
            _draw(canvas, label, sheet.label_mm, frames)
            canvas.restoreState()
    return spots[-1][0] + 1


def _draw(canvas: Any, label: Label, size_mm: tuple[float, float], frame: bool) -> None:
    """One label, its lower left corner at the origin."""
    width, height = size_mm
    if frame:
        set_ink(canvas, RULE, 0.1)
        canvas.rect(0, 0, width * PT, height * PT, stroke=1, fill=0)
    if label.joint:
        set_ink(canvas, INK)
        left = PAD_MM / 2 if label.joint == "left" else width - PAD_MM / 2 - BAR_MM
        canvas.rect(left * PT, PAD_MM * PT, BAR_MM * PT, (height - 2 * PAD_MM) * PT, stroke=0, fill=1)
    beside = PAD_MM + BAR_MM  # the bar's room is kept on both sides, so that A and B look alike
    code_mm = min(height - PAD_MM, (width - 2 * beside) * 0.48)
    _draw_code(canvas, label, width - beside - code_mm, (height - code_mm) / 2, code_mm)
    _draw_words(canvas, label, beside, width - beside - code_mm - 1.0, height)


def _draw_code(canvas: Any, label: Label, x_mm: float, y_mm: float, size_mm: float) -> None:
    """The code with its quiet margin in a square; each row of dark modules is one rectangle."""
    rows = [bytes(row) for row in segno.make(label.address, error="m", micro=False).matrix]
    module = size_mm / (len(rows) + 2 * QUIET_MODULES)
    if module < LEAST_MODULE_MM:
        raise Mistake(
            f"the code on the label of {label.title} would be too fine to read ({module:.2f} mm a square)",
            where="label size",
            do="use larger labels or a shorter address",
        )
    path = canvas.beginPath()
    top = y_mm + size_mm - QUIET_MODULES * module
    for i, row in enumerate(rows):
        start = None
        for j, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = j
            elif not dark and start is not None:
                left = x_mm + (QUIET_MODULES + start) * module
                path.rect(left * PT, (top - (i + 1) * module) * PT, (j - start) * module * PT, module * PT)
                start = None
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_words(canvas: Any, label: Label, left_mm: float, right_mm: float, height_mm: float) -> None:
    """Title, then lines as far as there is room, then the arrow to end 1 beside the title."""
    room = right_mm - left_mm
    arrow = 5.0 if label.end_1_up else 0.0
    title_mm = _fitted(label.title, room - arrow, min(_TITLE_MM, height_mm * 0.2), bold=True)
    y = height_mm - PAD_MM - title_mm * 0.75
    put_text(canvas, label.title, left_mm, y, title_mm, bold=True)
    if label.end_1_up:
        _draw_arrow(canvas, right_mm - 2.0, y, title_mm)
    line_mm = min(_LINE_MM, height_mm * 0.115)
    for line in label.lines:
        y -= line_mm * 1.32
        if y < PAD_MM / 2:
            break
        size = _fitted(line, room, line_mm)
        put_text(canvas, _cut(line, room, size), left_mm, y, size)


def _draw_arrow(canvas: Any, x_mm: float, y_mm: float, tall_mm: float) -> None:
    """An arrow up: end 1 lies that way."""
    top = y_mm + tall_mm * 0.75
    path = canvas.beginPath()
    points = ((-1.6, -2.2), (-0.45, -2.2), (-0.45, y_mm - top), (0.45, y_mm - top), (0.45, -2.2), (1.6, -2.2))
    path.moveTo(x_mm * PT, top * PT)
    for dx, dy in points:
        path.lineTo((x_mm + dx) * PT, (top + dy) * PT)
    path.close()
    set_ink(canvas, INK)
    canvas.drawPath(path, stroke=0, fill=1)


def _width_mm(text: str, size_mm: float, bold: bool = False) -> float:
    return float(stringWidth(known(text), pdf_font(bold), size_mm * BODY * PT)) / PT


def _fitted(text: str, room_mm: float, size_mm: float, bold: bool = False) -> float:
    """The letters' size at which the text has room, not below a share of what is wanted."""
    needed = _width_mm(text, size_mm, bold)
    return size_mm if needed <= room_mm else size_mm * max(_TIGHTEST, room_mm / needed)


def _cut(text: str, room_mm: float, size_mm: float) -> str:
    if _width_mm(text, size_mm) <= room_mm + 0.01:
        return text
    while text and _width_mm(f"{text}…", size_mm) > room_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"
