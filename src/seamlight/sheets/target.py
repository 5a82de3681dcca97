"""The sheet `target`: the tags and check bars that give a photograph its scale, as a PDF to print at 100 %.

Everything is drawn in mm as `seamlight.photo.target` lays it out; tags are filled squares, not pictures, so
that their edges are as sharp as the printer can make them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from seamlight.mistake import Mistake
from seamlight.photo.target import (
    BAR_LINE_MM,
    BAR_MM,
    PAPER_MM,
    TAG_CELLS,
    TAG_MM,
    Bar,
    Paper,
    Tag,
    TargetSheet,
    tag_cells,
    target_sheet,
)
from seamlight.sheets.page import PT, pdf_pages, set_letters

_TICK_MM = 3.0  # how far an end tick stands out on either side
_TICK_LINE_MM = 0.25
_SIZE_MM, _LEADING_MM = 2.9, 4.3
_HEAD_MM = 5.0
_INSET_MM = 6.0  # from the tags to the words

_HOW_TO = (
    "Print at 100 %, never “fit to page”.",
    "Measure both bars with a steel rule.",
    "150 mm: all is well.",
    "Not 150 mm: say what they measure,",
    "such as --scale tags=145.5",
    "",
    "Lay the sheet flat beside the wood,",
    "on the same bench; tape it down.",
    "Two sheets, one on either side of the",
    "leaf and with different numbers, do",
    "better than one.",
    "",
    "Have the whole leaf and every tag in",
    "the picture. Hold the phone above the",
    "middle; some tilt does no harm.",
    "Even light, no flash, no zoom.",
    "",
    "Measure the leaf’s thickness: its face",
    "lies higher than this paper.",
    "--thickness 4.5",
    "",
    "Keep the white round each tag clean.",
)


def sheet_target(path: Path | str, paper: str = "a4", number: int = 1) -> None:
    """Writes one target sheet as a PDF page.

    Args:
        path: the file to write, whole or not at all.
        paper: a4 or letter.
        number: 1 to 40; sheets of different numbers are told apart in one picture.

    Raises:
        Mistake: no such paper or number, or a folder that is not there.
    """
    sheet = target_sheet(_paper(paper), number)
    title = f"Target sheet {number}, {paper.lower()}"
    with pdf_pages(path, (sheet.width_mm, sheet.height_mm), title) as canvas:
        # From here y runs down from the paper's top edge, as in the sheet frame.
        canvas.translate(0, sheet.height_mm * PT)
        for tag in sheet.tags:
            _draw_tag(canvas, tag)
        for bar in sheet.bars:
            _draw_bar(canvas, bar)
        _draw_words(canvas, sheet)


def _paper(name: str) -> Paper:
    for paper in PAPER_MM:
        if name.lower() == paper:
            return paper
    raise Mistake(f"no target sheet for paper {name!r}", where="--paper", do="use a4 or letter")


def _draw_tag(canvas: Any, tag: Tag) -> None:
    """One path of all black cells, so that no hairline shows between them."""
    left, top = tag.corners_mm[0]
    cell = TAG_MM / TAG_CELLS
    path = canvas.beginPath()
    for row, line in enumerate(tag_cells(tag.id)):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(np.int8)))
        for start, stop in edges.reshape(-1, 2):
            x, y = left + start * cell, top + row * cell
            path.rect(x * PT, -(y + cell) * PT, (stop - start) * cell * PT, cell * PT)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_bar(canvas: Any, bar: Bar) -> None:
    """A bar whose two ends are the outer edges of its ticks, and what to do with it."""
    (x0, y0), (x1, y1) = bar.from_mm, bar.to_mm
    half, line = BAR_LINE_MM / 2, _TICK_LINE_MM
    canvas.setFillGray(0)
    across = y0 == y1

    def box(left: float, top: float, right: float, bottom: float) -> None:
        canvas.rect(left * PT, -bottom * PT, (right - left) * PT, (bottom - top) * PT, stroke=0, fill=1)

    if across:
        box(x0, y0 - half, x1, y0 + half)
        for left in (x0, x1 - line):
            box(left, y0 - _TICK_MM, left + line, y0 + _TICK_MM)
    else:
        box(x0 - half, y0, x0 + half, y1)
        for top in (y0, y1 - line):
            box(x0 - _TICK_MM, top, x0 + _TICK_MM, top + line)
    canvas.saveState()
    canvas.translate((x0 + x1) / 2 * PT, -(y0 + y1) / 2 * PT)
    canvas.rotate(0 if across else 90)
    set_letters(canvas, _SIZE_MM, bold=True)
    canvas.drawCentredString(0, 2.2 * PT, f"measure this bar: it should be {BAR_MM:g} mm")
    set_letters(canvas, _SIZE_MM)
    canvas.drawCentredString(0, -4.6 * PT, "if not, say --scale tags=145.5 (or what it measures)")
    canvas.restoreState()


def _draw_words(canvas: Any, sheet: TargetSheet) -> None:
    """Number and instructions between the columns of tags, left of the bar that runs down."""
    left = float(sheet.tags[0].corners_mm[1, 0]) + _INSET_MM
    y = float(sheet.tags[0].corners_mm[0, 1]) + _HEAD_MM
    canvas.setFillGray(0)
    set_letters(canvas, _HEAD_MM, bold=True)
    canvas.drawString(left * PT, -y * PT, f"Target sheet {sheet.number}")
    set_letters(canvas, _SIZE_MM)
    y += 2.0
    for words in _HOW_TO:
        y += _LEADING_MM if words else 0.6 * _LEADING_MM
        canvas.drawString(left * PT, -y * PT, words)
