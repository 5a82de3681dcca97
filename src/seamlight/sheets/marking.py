"""The marking sheet: one page from which a careful maker sets out, planes, joins and saws a pair."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepInFrame, Paragraph, Spacer, Table, TableStyle

from seamlight.layout.opening import Layout, Opening
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.bench import draw_bench, ink
from seamlight.sheets.book import View, body_view, mirrored
from seamlight.sheets.ink import INK, QUIET, RULE, WARN, known, pdf_font, pdf_letters
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.page import PAPER_MM, PT, paper_of, pdf_pages
from seamlight.sheets.picture_file import on_page
from seamlight.sheets.setting_out import SettingOut, set_out
from seamlight.sheets.steps import how_to, leaf_heading, rows
from seamlight.sheets.words import heading, purpose, sentences, shortages, verdict, verdict_sentence
from seamlight.units import Unit, said_in

PAPERS = ("a4", "letter", "a3")
WHITE = (255, 255, 255)
SIZES = (7.8, 7.4, 7.0, 6.6, 6.2, 5.8)  # letters, points: the first that lets everything stand on the page
WIDE_MM = 210.0  # the page is laid out this wide and drawn larger or smaller
MARGIN_MM = 11.0
PICTURE_MM = 76.0  # the opened pair, across
ROW_MM = 101.0  # the row of pictures, down
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
        raise Mistake(
            f"a marking sheet is not printed on {paper!r}", do=f"choose one of: {', '.join(PAPERS)}"
        )
    opening = layout.openings[opening_index]
    plan = set_out(layout, opening, units)
    pictures = Pictures(flat_a, flat_b, other_a, other_b)
    size = PAPER_MM[paper_of(paper)]
    scale = size[0] / WIDE_MM
    with pdf_pages(path, size, f"Marking sheet {label}".strip()) as canvas:
        canvas.scale(scale, scale)
        top = (size[1] / scale - MARGIN_MM) * PT
        top = _head(canvas, top, plan, opening_index, known(label), made_on, units)
        _pictures(canvas, top, plan, pictures, units)
        _figures(canvas, top - (ROW_MM + 2.5) * PT, plan, flat_b is None, units)


def _head(
    canvas: Canvas, top: float, plan: SettingOut, index: int, label: str, made_on: date, units: Unit
) -> float:
    left, right = MARGIN_MM * PT, (WIDE_MM - MARGIN_MM) * PT
    ink(canvas, INK, fill=True)
    pdf_letters(canvas, 14, bold=True)
    title = f"Marking sheet: {label}" if label else "Marking sheet"
    size = min(14.0, 14.0 * (right - left - 34 * PT) / max(canvas.stringWidth(title), 1))
    pdf_letters(canvas, size, bold=True)
    canvas.drawString(left, top - 4 * PT, title)
    pdf_letters(canvas, 8.5)
    canvas.drawRightString(right, top - 4 * PT, made_on.isoformat())
    said = verdict_sentence(plan.opening, units)
    named = heading(plan.opening, index + 1, plan.layout.settings.match)
    name = f"{purpose(plan.layout).capitalize()}. Opening {named}."
    pdf_letters(canvas, min(9.0, 9.0 * (right - left) / canvas.stringWidth(name, pdf_font(), 9)))
    canvas.drawString(left, top - 9.4 * PT, name)
    good = verdict(plan.opening) == "fits"
    said = said if good else f"! {said}"
    # the verdict stands beside the opening's name, or under it where the line is too long for both
    if (
        canvas.stringWidth(name, pdf_font(), 9) + canvas.stringWidth(said, pdf_font(True), 9)
        > right - left - 6
    ):
        top -= 4.6 * PT
    ink(canvas, INK if good else WARN, fill=True)
    pdf_letters(canvas, 9, bold=True)
    canvas.drawRightString(right, top - 9.4 * PT, said)
    ink(canvas, RULE)
    canvas.setLineWidth(0.6)
    canvas.line(left, top - 11.6 * PT, right, top - 11.6 * PT)
    return top - 13.5 * PT


def _pictures(canvas: Canvas, top: float, plan: SettingOut, pictures: Pictures, units: Unit) -> None:
    left, bottom = MARGIN_MM * PT, top - ROW_MM * PT
    content = WIDE_MM - 2 * MARGIN_MM
    view = picture_view(plan.layout, plan.opening, PICTURE_MM, ROW_MM - 6)
    picture = draw_opening(plan.layout, plan.opening, pictures, view, Look(2.0, 24, WHITE), units)
    wide, high = (n / PX_PER_PAGE_MM * PT for n in picture.size)
    canvas.drawImage(
        on_page(picture, sharp_lines=True),
        left + (PICTURE_MM * PT - wide) / 2,
        top - 4.5 * PT - high,
        wide,
        high,
    )
    ink(canvas, INK, fill=True)
    pdf_letters(canvas, 8, bold=True)
    canvas.drawString(left, top - 2.6 * PT, "Opened, seen from the front, neck up")
    room = (content - PICTURE_MM - 6) / 2
    flat_b = pictures.b if pictures.b is not None else mirrored(pictures.a)
    for i, (leaf, flat) in enumerate(((plan.a, pictures.a), (plan.b, flat_b))):
        x = left + (PICTURE_MM + 3 + i * (room + 3)) * PT
        ink(canvas, INK, fill=True)
        pdf_letters(canvas, 8, bold=True)
        canvas.drawCentredString(x + room * PT / 2, top - 2.6 * PT, leaf_heading(leaf))
        draw_bench(canvas, leaf, flat, (x, bottom, room * PT, (ROW_MM - 3.5) * PT), units)


def _note(plan: SettingOut, units: Unit) -> str:
    unit = "inches to the nearest 1/64" if units == "inch" else "mm"
    said = (
        f"Not to scale: use the figures ({unit}). Solid: outline, joint; short dashes: trim; hatched: flaws"
    )
    if plan.layout.a.other_flaws or plan.layout.b.other_flaws:
        said += ", dashed rings on the face not shown"
    if any(
        leaf.wedge is not None and leaf.wedge.possible(float(leaf.half.edge_mm[-1, 1]))
        for leaf in (plan.a, plan.b)
    ):
        said += "; long dashes: line to saw for the wedges"
    return f"{said}. In a box: least room to spare, where it is; on a leaf: half width from the joint line."


def picture_view(layout: Layout, opening: Opening, wide_mm: float, high_mm: float) -> View:
    """The window of the opened pair that fills a box on the page, paper beside it for a figure."""
    loose = body_view(layout, (opening,), 1.0)
    full = np.array([-2 * loose.left_mm + 44, loose.height + 4.0])
    px_per_mm = float(np.min(np.array([wide_mm, high_mm]) * PX_PER_PAGE_MM / full))
    width, height = (int(n) for n in full * px_per_mm)
    return View(px_per_mm, -full[0] / 2, loose.top_mm - 2, width, height)


def _figures(canvas: Canvas, top: float, plan: SettingOut, alone: bool, units: Unit) -> None:
    """The table of figures and the paragraphs under it, in the largest letters that leave all on the page."""
    wide, high = (WIDE_MM - 2 * MARGIN_MM) * PT, top - (MARGIN_MM - 3) * PT
    for size in SIZES:
        frame = KeepInFrame(wide, 1e5, _story(plan, alone, units, wide, size), mode="truncate")
        _, used = frame.wrapOn(canvas, wide, 1e5)
        if used <= high:
            break
    else:
        frame = KeepInFrame(wide, high, _story(plan, alone, units, wide, SIZES[-1]), mode="shrink")
        _, used = frame.wrapOn(canvas, wide, high)
    frame.drawOn(canvas, MARGIN_MM * PT, top - used)


def _story(plan: SettingOut, alone: bool, units: Unit, wide: float, size: float) -> list[Flowable]:
    story: list[Flowable] = [_paragraph("", _note(plan, units), size, QUIET), _table(plan, wide, units, size)]
    story.append(Spacer(1, 2 * PT))
    said = list(dict.fromkeys(_warnings(plan, alone, units)))
    if said:
        story.append(_paragraph("Warnings", sentences(said), size, WARN))
    return [*story, *(_paragraph(head, text, size) for head, text in how_to(plan, units))]


def _warnings(plan: SettingOut, alone: bool, units: Unit) -> list[str]:
    laid = [w for w in plan.layout.warnings if not (alone and w.startswith("leaf B was not given"))]
    told = [*plan.layout.registration.warnings, *plan.layout.outline.warnings, *laid]
    said = [said_in(warning, units) for warning in told]
    if alone:
        said.insert(
            0, "leaf B was not photographed: its figures are A's mirrored; look at B before you cut it"
        )
    if plan.layout.registration.b_turned:
        said.append("leaf B was photographed turned end for end: its end 1 lies beside A's end 2")
    if not plan.opening.fits:
        short = shortages(plan.opening, plan.layout.outline.length_mm, units)
        said = ["do not saw to this yet: the outline does not fit here", *short, *said]
        said += [said_in(remedy.text, units) for remedy in plan.opening.remedies]
    elif plan.opening.marginal:
        said.insert(0, "marginal: measure the leaves by hand before you plane or saw")
    return said


def _style(size: float, bold: bool = False) -> ParagraphStyle:
    return ParagraphStyle("s", fontName=pdf_font(bold), fontSize=size, leading=size * 1.28)


def _paragraph(head: str, text: str, size: float, colour: tuple[int, int, int] = INK) -> Paragraph:
    shade = "#{:02x}{:02x}{:02x}".format(*colour)
    body = f'<font name="{pdf_font(True)}" color="{shade}">{escape(head)}.</font> ' if head else ""
    style = _style(size)
    style.spaceAfter = 3
    plain = shade if not head else "#{:02x}{:02x}{:02x}".format(*INK)
    return Paragraph(f'{body}<font color="{plain}">{escape(known(text))}</font>', style)


def _table(plan: SettingOut, wide: float, units: Unit, size: float) -> Table:
    head = ["Set out, in this order", leaf_heading(plan.a), leaf_heading(plan.b)]
    cells = [[Paragraph(escape(t), _style(size, bold=True)) for t in head]]
    for row in rows(plan, units):
        cells.append([Paragraph(escape(known(t)), _style(size, bold=i == 0)) for i, t in enumerate(row)])
    table = Table(cells, colWidths=[wide * 0.28, wide * 0.36, wide * 0.36], hAlign="LEFT")
    grey = tuple(c / 255 for c in RULE)
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, grey),
                ("LEFTPADDING", (0, 0), (-1, -1), 1),
                ("RIGHTPADDING", (0, 0), (-1, -1), 4),
                ("TOPPADDING", (0, 0), (-1, -1), 1.3),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.7),
            ]
        )
    )
    return table
