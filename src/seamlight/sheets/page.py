"""What every printed page shares: paper sizes, check bars, one lettering, one set of inks.

Lengths in mm from the paper's lower left corner, as PDF counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

from reportlab.lib.units import mm as _PT  # noqa: N812  points to the mm
from reportlab.pdfgen.canvas import Canvas

from seamlight.mistake import Mistake
from seamlight.sheets.ink import INK, QUIET, RULE, Colour, known, pdf_font, pdf_letters
from seamlight.whole_file import whole_file

Paper = Literal["a4", "letter", "a3", "roll"]
PT = float(_PT)

# ISO 216 for A4 and A3 (from memory); Letter is 8 1/2 x 11 in; the roll is 24 in wide and cut to length.
PAPER_MM: dict[Paper, tuple[float, float]] = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "a3": (297.0, 420.0),
    "roll": (609.6, 0.0),
}
MARGIN_MM = 15.0  # home printers reach to about 5 mm; the check bars stand in the margin
BAR_MM = 150.0
BODY = 0.88  # the house's letters stand so much larger on their body than plain ones


def paper_of(name: str) -> Paper:
    """A paper by its name.

    Raises:
        Mistake: no such paper.
    """
    for paper in PAPER_MM:
        if name.lower() == paper:
            return paper
    raise Mistake(f"no paper is called {name!r}", do=f"choose one of: {', '.join(PAPER_MM)}")


@contextmanager
def pdf_pages(path: Path | str, size_mm: tuple[float, float], title: str) -> Iterator[Any]:
    """A reportlab canvas of pages of one size; the file appears whole when the block ends well.

    The same drawing makes the same bytes: no clock, no random id.
    """
    with whole_file(path) as part:
        canvas = Canvas(
            str(part), pagesize=(size_mm[0] * PT, size_mm[1] * PT), invariant=1, initialFontName=pdf_font()
        )
        canvas.setTitle(known(title))
        canvas.setCreator("Seamlight")
        canvas.setViewerPreference("PrintScaling", "None")
        yield canvas
        canvas.save()


def set_ink(
    canvas: Any, colour: Colour = INK, line_mm: float = 0.25, dash_mm: tuple[float, ...] = ()
) -> None:
    """Line and fill colour, line width and dash; () is a solid line."""
    red, green, blue = (part / 255 for part in colour)
    canvas.setStrokeColorRGB(red, green, blue)
    canvas.setFillColorRGB(red, green, blue)
    canvas.setLineWidth(line_mm * PT)
    canvas.setDash([part * PT for part in dash_mm])


def set_letters(canvas: Any, size_mm: float, bold: bool = False) -> None:
    """Set the house's letters as large as plain letters of that body, mm."""
    pdf_letters(canvas, size_mm * BODY * PT, bold)


def put_text(
    canvas: Any,
    text: str,
    x_mm: float,
    y_mm: float,
    size_mm: float = 3.0,
    *,
    align: Literal["left", "middle", "right"] = "left",
    colour: Colour = INK,
    bold: bool = False,
    turn_deg: float = 0.0,
) -> None:
    """One line of text with its base line at (x, y); the size is that of the letters' body, mm."""
    canvas.saveState()
    red, green, blue = (part / 255 for part in colour)
    canvas.setFillColorRGB(red, green, blue)
    canvas.translate(x_mm * PT, y_mm * PT)
    canvas.rotate(turn_deg)
    set_letters(canvas, size_mm, bold)
    put = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}[
        align
    ]
    put(0, 0, known(text))
    canvas.restoreState()


def draw_check_bars(canvas: Any, x_mm: float = 7.0, y_mm: float = 7.0, thick_mm: float = 1.0) -> None:
    """Two solid bars, each exactly 150 mm long, along the paper's lower and left edge, and what they are for.

    The one across runs from x + 8 at height y, the one up from y + 8 at x; (x, y) in the lower left margin.
    """
    start_x, start_y = x_mm + 8.0, y_mm + 8.0
    canvas.saveState()
    set_ink(canvas, INK)
    canvas.rect(start_x * PT, y_mm * PT, BAR_MM * PT, thick_mm * PT, stroke=0, fill=1)
    canvas.rect(x_mm * PT, start_y * PT, thick_mm * PT, BAR_MM * PT, stroke=0, fill=1)
    canvas.restoreState()
    said = "150 mm: measure both bars; if they are not 150, print again at 100 %, without fitting to the page"
    put_text(canvas, said, start_x + BAR_MM / 2, y_mm + thick_mm + 1.0, 2.6, align="middle", colour=QUIET)
    put_text(
        canvas,
        "150 mm",
        x_mm + thick_mm + 3.0,
        start_y + BAR_MM / 2,
        2.6,
        align="middle",
        colour=QUIET,
        turn_deg=90,
    )


def draw_heading(canvas: Any, page_mm: tuple[float, float], left: str, right: str = "") -> None:
    """One line along the paper's top edge: what the sheet is, and which of how many."""
    y = page_mm[1] - 10.0
    put_text(canvas, left, MARGIN_MM, y, 3.6, bold=True)
    put_text(canvas, right, page_mm[0] - MARGIN_MM, y, 3.2, align="right", colour=QUIET)
    canvas.saveState()
    set_ink(canvas, RULE, 0.2)
    canvas.line(MARGIN_MM * PT, (y - 1.8) * PT, (page_mm[0] - MARGIN_MM) * PT, (y - 1.8) * PT)
    canvas.restoreState()
