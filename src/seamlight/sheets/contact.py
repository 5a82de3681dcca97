"""The contact sheet: every pair of a rack at a glance, then leaves alone and files that failed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from PIL import Image

from seamlight.layout.opening import Layout
from seamlight.layout.rack import Rack, RackPair
from seamlight.sheets.ink import INK, QUIET, WARN, Colour, fold, known, pdf_font
from seamlight.sheets.opened import Look, Pictures, fitted_opening
from seamlight.sheets.page import PAPER_MM, PT, Paper, paper_of, pdf_pages
from seamlight.sheets.picture_file import on_page
from seamlight.sheets.table import pair_name, why_failed
from seamlight.sheets.words import verdict, verdict_sentence
from seamlight.units import Unit

MARGIN_MM, GAP_MM = 12.0, 6.0
COLUMNS, ROWS = 3, 3  # as many rows to a page where the words leave room
LINE_MM = 3.6
TEXT_MM = 2.5  # letter size
PX_PER_PAGE_MM = 7.0


def contact_sheet(
    rack: Rack, path: Path | str, *, paper: str = "a4", units: Unit = "mm", made_on: date
) -> None:
    """Write the contact sheet as a PDF, as many pages as it takes.

    Raises:
        Mistake: there is no such paper, or the file cannot be written.
    """
    sheet = paper_of(paper)
    with pdf_pages(path, _size(sheet), "Contact sheet") as canvas:
        page = _Page(canvas, _size(sheet), made_on, rack, units)
        for i, pair in enumerate(rack.pairs):
            page.cell(i % COLUMNS, pair, units)
        page.lists(rack)


def _size(paper: Paper) -> tuple[float, float]:
    wide, high = PAPER_MM[paper]
    return wide, high or 2 * wide


class _Page:
    """Where the next row goes; turns the page when it is full. mm from the top left."""

    def __init__(
        self, canvas: Any, size_mm: tuple[float, float], made_on: date, rack: Rack, units: Unit
    ) -> None:
        self.canvas, self.size, self.made_on, self.pairs = canvas, size_mm, made_on, len(rack.pairs)
        self.number = 0
        self.wide = (size_mm[0] - 2 * MARGIN_MM - (COLUMNS - 1) * GAP_MM) / COLUMNS
        most = max((len(_said(pair, units, self.wide)) for pair in rack.pairs), default=0)
        room = (size_mm[1] - 2 * MARGIN_MM - 9) / ROWS - LINE_MM * (most + 0.6) - GAP_MM
        self.picture_high = min(self.wide * 1.22, max(self.wide * 0.7, room))
        self.row_top = 0.0
        self.row_high = 0.0
        self._start()

    def _start(self) -> None:
        if self.number:
            self.canvas.showPage()
        self.number += 1
        self._text(f"The rack: {self.pairs} pairs", MARGIN_MM, MARGIN_MM + 3, 4.4, bold=True)
        said = f"{self.made_on.isoformat()}, page {self.number}"
        wide = self.canvas.stringWidth(said, pdf_font(), TEXT_MM * PT) / PT
        self._text(said, self.size[0] - MARGIN_MM - wide, MARGIN_MM + 3, TEXT_MM, QUIET)
        self.row_top, self.row_high = MARGIN_MM + 9, 0.0

    def _text(
        self, text: str, x: float, y: float, size: float = TEXT_MM, colour: Colour = INK, bold: bool = False
    ) -> None:
        self.canvas.setFillColorRGB(*(c / 255 for c in colour))
        self.canvas.setFont(pdf_font(bold), size * PT)
        self.canvas.drawString(x * PT, (self.size[1] - y) * PT, known(text))

    def cell(self, column: int, pair: RackPair, units: Unit) -> None:
        """One pair: its picture, its name and match, a line for each outline."""
        if column == 0:
            self.row_top, self.row_high = self.row_top + self.row_high, 0.0
        lines = _said(pair, units, self.wide)
        high = self.picture_high + LINE_MM * (len(lines) + 0.6) + GAP_MM
        if column == 0 and self.row_top + high > self.size[1] - MARGIN_MM:
            self._start()
        self.row_high = max(self.row_high, high)
        x, y = MARGIN_MM + column * (self.wide + GAP_MM), self.row_top
        picture = _thumbnail(pair, self.wide, self.picture_high, units)
        wide, tall = (n / PX_PER_PAGE_MM for n in picture.size)
        self.canvas.drawImage(
            on_page(picture),
            (x + (self.wide - wide) / 2) * PT,
            (self.size[1] - y - tall) * PT,
            wide * PT,
            tall * PT,
        )
        y += self.picture_high + LINE_MM
        for text, colour, bold in lines:
            self._text(text, x, y, TEXT_MM, colour, bold)
            y += LINE_MM

    def lists(self, rack: Rack) -> None:
        """Leaves without a partner and files that failed, by name."""
        self.row_top += self.row_high
        wide = self.size[0] - 2 * MARGIN_MM
        blocks = (
            ("Leaves without a partner", [path.name for path in rack.alone]),
            ("Files that failed", [why_failed(path, why) for path, why in rack.failed]),
        )
        for head, entries in blocks:
            if not entries:
                continue
            if self.row_top + 3 * LINE_MM > self.size[1] - MARGIN_MM:
                self._start()
            self._line(head, 3.2, bold=True)
            for entry in entries:
                for text in fold(entry, wide, TEXT_MM):
                    self._line(text, TEXT_MM)
            self.row_top += LINE_MM

    def _line(self, text: str, size: float, bold: bool = False) -> None:
        self.row_top += LINE_MM * (1.4 if bold else 1.0)
        if self.row_top > self.size[1] - MARGIN_MM:
            self._start()
            self.row_top += LINE_MM
        self._text(text, MARGIN_MM, self.row_top, size, bold=bold)


def shown_layout(pair: RackPair) -> Layout:
    """The outline whose picture stands for a pair: the first that fits, else the first asked for."""
    return next((lay for lay in pair.layouts if lay.openings[0].fits), pair.layouts[0])


def _said(pair: RackPair, units: Unit, room_mm: float) -> list[tuple[str, Colour, bool]]:
    """The lines under a picture, their colour and weight: the pair, what is shown, each verdict."""
    shown = shown_layout(pair)
    best = shown.openings[0]
    how = "turned over" if best.show_face == "other" else f"{best.joint_edge} edge"
    match = pair.pair.registration
    said = f"match {match.match:.2f}; " if match else ""
    entries = [
        (pair_name(pair), INK, True),
        (f"{said}{shown.outline.name} shown: {how}, neck at end {best.neck_end}", QUIET, False),
    ]
    for layout in pair.layouts:
        best = layout.openings[0]
        colour = INK if verdict(best) == "fits" else WARN
        text = f"{layout.outline.name}: {verdict_sentence(best, units)} (score {best.score:.0f})"
        entries.append((text, colour, False))
    return [
        (line, colour, bold) for text, colour, bold in entries for line in fold(text, room_mm, TEXT_MM, bold)
    ]


def _thumbnail(pair: RackPair, wide_mm: float, high_mm: float, units: Unit) -> Image.Image:
    b = pair.pair.b
    pictures = Pictures(pair.pair.a.flat, b.flat if b is not None else None)
    size = wide_mm * PX_PER_PAGE_MM, high_mm * PX_PER_PAGE_MM
    return fitted_opening(shown_layout(pair), 0, pictures, size, Look(1.1, 15, (255, 255, 255)), units)
