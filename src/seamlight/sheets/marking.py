"""The marking sheet: one page from which a careful maker sets out, planes, joins and saws a pair."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from PIL import Image
from reportlab.lib import pagesizes
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepInFrame, Paragraph, Spacer, Table, TableStyle

from seamlight.layout.opening import Layout, Opening
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.bench import MM, draw_bench, ink
from seamlight.sheets.book import View, body_view, mirrored
from seamlight.sheets.ink import INK, QUIET, RULE, WARN, pdf_font, pdf_letters
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.setting_out import SettingOut, set_out
from seamlight.sheets.steps import how_to, leaf_heading, rows
from seamlight.sheets.words import heading, purpose, verdict, verdict_sentence
from seamlight.units import Unit
from seamlight.whole_file import whole_file

PAPERS = {"a4": pagesizes.A4, "letter": pagesizes.LETTER, "a3": pagesizes.A3}
WIDE_MM = 210.0  # the page is laid out this wide and drawn larger or smaller
MARGIN_MM = 11.0
PICTURE_MM = 76.0  # the opened pair, across
ROW_MM = 104.0  # the row of pictures, down
PX_PER_PAGE_MM = 10.0  # of the opened pair's picture: about 250 dpi


def marking_sheet(
    layout: Layout,
    opening_index: int,
    flat_a: FlatLeaf,
    flat_b: FlatLeaf | None,
    path: Path | str,
    *,
    paper: str = "a4",
    units: Unit = "mm",
    label: str = "",
    made_on: date,
    other_a: FlatLeaf | None = None,
    other_b: FlatLeaf | None = None,
) -> None:
    """Write the marking sheet of one opening as a one-page PDF.

    Args:
        opening_index: from 0, in the layout's order.
        flat_b: None where B was not photographed; A's mirrored picture stands in.
        label: what the pair is called in the shop.
        made_on: the date printed on the sheet.
        other_a: leaf A's other face carried into A's frame, for an opening that shows it.
        other_b: the same for B.

    Raises:
        Mistake: there is no such opening or paper, or the file cannot be written.
    """
    if not 0 <= opening_index < len(layout.openings):
        raise Mistake(f"there is no opening {opening_index + 1}", do=f"choose 1 to {len(layout.openings)}")
    if paper not in PAPERS:
        raise Mistake(f"no paper is called {paper!r}", do=f"choose one of {', '.join(PAPERS)}")
    opening = layout.openings[opening_index]
    plan = set_out(layout, opening)
    pictures = Pictures(flat_a, flat_b, other_a, other_b)
    wide, high = PAPERS[paper]
    scale = wide / (WIDE_MM * MM)
    with whole_file(path) as part:
        canvas = Canvas(str(part), pagesize=(wide, high), invariant=True)
        canvas.setTitle(f"Marking sheet {label}".strip())
        canvas.scale(scale, scale)
        top = high / scale - MARGIN_MM * MM
        top = _head(canvas, top, plan, opening_index, label, made_on, units)
        _pictures(canvas, top, plan, pictures, units)
        _figures(canvas, top - (ROW_MM + 5) * MM, plan, flat_b is None, units)
        canvas.save()


def _head(
    canvas: Canvas, top: float, plan: SettingOut, index: int, label: str, made_on: date, units: Unit
) -> float:
    left, right = MARGIN_MM * MM, (WIDE_MM - MARGIN_MM) * MM
    ink(canvas, INK, fill=True)
    pdf_letters(canvas, 14, bold=True)
    title = f"Marking sheet: {label}" if label else "Marking sheet"
    size = min(14.0, 14.0 * (right - left - 34 * MM) / max(canvas.stringWidth(title), 1))
    pdf_letters(canvas, size, bold=True)
    canvas.drawString(left, top - 4 * MM, title)
    pdf_letters(canvas, 8.5)
    canvas.drawRightString(right, top - 4 * MM, made_on.isoformat())
    said = verdict_sentence(plan.opening, units)
    pdf_letters(canvas, 9)
    canvas.drawString(left, top - 9.4 * MM, f"{purpose(plan.layout)}. Opening {heading(plan.opening, index + 1)}.")
    good = verdict(plan.opening) == "fits"
    ink(canvas, INK if good else WARN, fill=True)
    pdf_letters(canvas, 9, bold=True)
    canvas.drawRightString(right, top - 9.4 * MM, said if good else f"! {said}")
    ink(canvas, RULE)
    canvas.setLineWidth(0.6)
    canvas.line(left, top - 11.6 * MM, right, top - 11.6 * MM)
    return top - 13.5 * MM


def _pictures(canvas: Canvas, top: float, plan: SettingOut, pictures: Pictures, units: Unit) -> None:
    left, bottom = MARGIN_MM * MM, top - ROW_MM * MM
    content = WIDE_MM - 2 * MARGIN_MM
    view = picture_view(plan.layout, plan.opening, PICTURE_MM, ROW_MM - 6)
    picture = draw_opening(plan.layout, plan.opening, pictures, view, Look(2.0, 24), units)
    wide, high = (n / PX_PER_PAGE_MM * MM for n in picture.size)
    canvas.drawImage(_jpeg(picture), left + (PICTURE_MM * MM - wide) / 2, top - 4.5 * MM - high, wide, high)
    ink(canvas, INK, fill=True)
    pdf_letters(canvas, 8, bold=True)
    canvas.drawString(left, top - 2.6 * MM, "Opened, seen from the front, neck up")
    room = (content - PICTURE_MM - 6) / 2
    flat_b = pictures.b if pictures.b is not None else mirrored(pictures.a)
    for i, (leaf, flat) in enumerate(((plan.a, pictures.a), (plan.b, flat_b))):
        x = left + (PICTURE_MM + 3 + i * (room + 3)) * MM
        ink(canvas, INK, fill=True)
        pdf_letters(canvas, 8, bold=True)
        canvas.drawCentredString(x + room * MM / 2, top - 2.6 * MM, leaf_heading(leaf))
        draw_bench(canvas, leaf, flat, (x, bottom, room * MM, (ROW_MM - 3.5) * MM), units)
    ink(canvas, QUIET, fill=True)
    pdf_letters(canvas, 7.5)
    unit = "inches to the nearest 1/64" if units == "inch" else "mm"
    note = f"Not to scale: use the figures ({unit}). Solid: outline and joint line; dashed: trim; hatched: flaws; number in a box: room or half width."
    canvas.drawString(left, bottom - 2.2 * MM, note)


def picture_view(layout: Layout, opening: Opening, wide_mm: float, high_mm: float) -> View:
    """The window of the opened pair that fills a box on the page, with paper at the sides for the room's figure."""
    loose = body_view(layout, (opening,), 1.0)
    full = np.array([-2 * loose.left_mm + 44, loose.height + 4.0])
    px_per_mm = float(np.min(np.array([wide_mm, high_mm]) * PX_PER_PAGE_MM / full))
    width, height = (int(n) for n in full * px_per_mm)
    return View(px_per_mm, -full[0] / 2, loose.top_mm - 2, width, height)


def _jpeg(picture: Image.Image) -> ImageReader:
    file = BytesIO()
    picture.save(file, "JPEG", quality=90, subsampling=0)
    return ImageReader(file)


def _figures(canvas: Canvas, top: float, plan: SettingOut, alone: bool, units: Unit) -> None:
    """The table of figures and the paragraphs under it, made smaller only where they would not fit the page."""
    wide = (WIDE_MM - 2 * MARGIN_MM) * MM
    high = top - (MARGIN_MM - 3) * MM
    story: list[Flowable] = [_table(plan, wide, units), Spacer(1, 2 * MM)]
    said = list(dict.fromkeys(_warnings(plan, alone)))
    if said:
        story.append(_paragraph("Warnings", " ".join(f"{s[0].upper()}{s[1:].rstrip('.')}." for s in said), WARN))
    story += [_paragraph(head, text) for head, text in how_to(plan, units)]
    frame = KeepInFrame(wide, high, story, mode="shrink")
    _, used = frame.wrapOn(canvas, wide, high)
    frame.drawOn(canvas, MARGIN_MM * MM, top - used)


def _warnings(plan: SettingOut, alone: bool) -> list[str]:
    said = [*plan.layout.registration.warnings, *plan.layout.outline.warnings, *plan.layout.warnings]
    if alone:
        said.insert(0, "leaf B was not photographed: its figures are A's mirrored; look at B before you cut it")
    if plan.layout.registration.b_turned:
        said.append("leaf B was photographed turned end for end: its end 1 lies beside A's end 2")
    if not plan.opening.fits:
        said += [remedy.text for remedy in plan.opening.remedies]
    return said


def _style(size: float, bold: bool = False) -> ParagraphStyle:
    return ParagraphStyle("s", fontName=pdf_font(bold), fontSize=size, leading=size * 1.28)


def _paragraph(head: str, text: str, colour: tuple[int, int, int] = INK) -> Paragraph:
    shade = "#%02x%02x%02x" % colour
    body = f'<font name="{pdf_font(True)}" color="{shade}">{escape(head)}.</font> {escape(text)}'
    style = _style(7.6)
    style.spaceAfter = 3
    return Paragraph(body, style)


def _table(plan: SettingOut, wide: float, units: Unit) -> Table:
    head = ["Set out, in this order", leaf_heading(plan.a), leaf_heading(plan.b)]
    cells = [[Paragraph(escape(t), _style(7.8, bold=True)) for t in head]]
    for what, a, b in rows(plan, units):
        cells.append([Paragraph(escape(t), _style(7.6, bold=i == 0)) for i, t in enumerate((what, a, b))])
    table = Table(cells, colWidths=[wide * 0.24, wide * 0.38, wide * 0.38])
    shade = [c / 255 for c in RULE]
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, tuple(shade)),
                ("LEFTPADDING", (0, 0), (-1, -1), 1),
                ("RIGHTPADDING", (0, 0), (-1, -1), 4),
                ("TOPPADDING", (0, 0), (-1, -1), 1.3),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.7),
            ]
        )
    )
    return table
