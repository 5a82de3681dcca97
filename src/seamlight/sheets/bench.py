"""A leaf drawn as it lies on the bench, with the measures that are set out on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from seamlight.photo.flat import FlatLeaf, Points
from seamlight.sheets.book import shrunk
from seamlight.sheets.ink import DARK, INK, LIGHT, PAPER, QUIET, Colour, pdf_letters
from seamlight.sheets.lines import hatching
from seamlight.sheets.page import PT
from seamlight.sheets.picture_file import on_page
from seamlight.sheets.setting_out import LeafSettingOut
from seamlight.sheets.words import bare
from seamlight.units import Unit

PX_PER_MM = 1.3  # of the leaf's picture: about 200 dpi at the size it is drawn
MARGIN_MM = 18.0  # page mm beside the joint edge, for the figures
SIDE_MM = 4.0  # page mm beside the other edge, for its name


@dataclass(frozen=True, eq=False)
class Sheet:
    """Leaf mm to page points: one scale, y down."""

    canvas: Canvas
    x_pt: float  # page place of the leaf frame's origin
    y_pt: float
    pt_per_mm: float

    def at(self, points_mm: Points) -> Points:
        """(n, 2) mm in the leaf frame -> (n, 2) points on the page."""
        return np.asarray(points_mm, dtype=float) * (self.pt_per_mm, -self.pt_per_mm) + (self.x_pt, self.y_pt)


def ink(canvas: Canvas, colour: Colour, fill: bool = False) -> None:
    """Set the pen's or the fill's colour."""
    shade = [c / 255 for c in colour]
    if fill:
        canvas.setFillColorRGB(*shade)
    else:
        canvas.setStrokeColorRGB(*shade)


def draw_bench(
    canvas: Canvas,
    leaf: LeafSettingOut,
    flat: FlatLeaf,
    box_pt: tuple[float, float, float, float],
    units: Unit,
) -> None:
    """Draw one leaf in a box (left, bottom, width, height in points); not to scale: its figures count."""
    left, bottom, wide, high = box_pt
    size = np.ptp(np.asarray(flat.outline_mm), axis=0)
    scale = min((wide - (MARGIN_MM + SIDE_MM) * PT) / size[0], (high - 8 * PT) / size[1])
    right_joint = leaf.measures.datum.side == "right"
    x = left + (SIDE_MM if right_joint else MARGIN_MM) * PT
    sheet = Sheet(canvas, x, bottom + high - 4 * PT, scale)
    _wood(sheet, flat)
    _drawn_lines(sheet, leaf)
    _ends(sheet, leaf, size)
    _figures(sheet, leaf, size, units)
    _half_widths(sheet, leaf, units)


def _wood(sheet: Sheet, flat: FlatLeaf) -> None:
    rgb, wood, scale = shrunk(flat, PX_PER_MM)
    cover = wood[..., None]
    mixed = (rgb * cover + 255.0 * (1 - cover)).astype(np.uint8)
    picture = on_page(Image.fromarray(mixed))
    height, width = mixed.shape[:2]
    k = sheet.pt_per_mm / scale
    sheet.canvas.drawImage(picture, sheet.x_pt, sheet.y_pt - height * k, width * k, height * k)


def _drawn_lines(sheet: Sheet, leaf: LeafSettingOut) -> None:
    half = leaf.half
    length = float(half.edge_mm[-1, 1])
    for index, (_, area) in enumerate(half.flaws):
        ring = half.to_leaf(np.asarray(area.exterior.coords))
        if index >= half.photographed:  # on the face that lies down
            stroke(sheet, ring, 0.5, dash=(1.5, 1.5))
            continue
        for piece in hatching(ring[:-1], 5.0):
            stroke(sheet, piece, 0.5)
        stroke(sheet, ring, 0.5)
    if leaf.wing_stock is not None:
        stroke(sheet, half.to_leaf(np.asarray(leaf.wing_stock.exterior.coords)), 0.6, dash=(2.5, 2))
    stroke(sheet, half.to_leaf(half.edge_mm), 1.2)
    top, bottom = sorted(half.wood.bounds[1::2])
    stroke(sheet, half.to_leaf(np.array([[0.0, top], [0.0, bottom]])), 0.8)
    if leaf.wedge is not None and leaf.wedge.possible(length):
        stroke(sheet, half.to_leaf(leaf.wedge.points(length, 12.0)), 0.8, dash=(6, 2.5))
        _word(sheet, "saw", half.to_leaf(np.array([[leaf.wedge.at_neck_mm - 20.0, 0.0]]))[0])


def stroke(sheet: Sheet, points_mm: Points, width: float, dash: tuple[float, float] | None = None) -> None:
    """A light line with a dark edge."""
    canvas = sheet.canvas
    for grown, colour in ((1.0, DARK), (0.0, LIGHT)):
        path = canvas.beginPath()
        at = sheet.at(points_mm)
        path.moveTo(*map(float, at[0]))
        for x, y in at[1:]:
            path.lineTo(float(x), float(y))
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        canvas.setDash(*([list(dash)] if dash else []))
        canvas.setLineWidth(width + grown)
        ink(canvas, colour)
        canvas.drawPath(path, stroke=1, fill=0)
    canvas.setDash()


def _word(sheet: Sheet, text: str, place_mm: Points) -> None:
    """A word on a slip of paper over a place of the leaf."""
    canvas = sheet.canvas
    x, y = (float(v) for v in sheet.at(np.asarray(place_mm)[None])[0])
    pdf_letters(canvas, 6.6, bold=True)
    wide = canvas.stringWidth(text) + 1.6 * PT
    ink(canvas, PAPER, fill=True)
    ink(canvas, QUIET)
    canvas.setLineWidth(0.3)
    canvas.rect(x - wide / 2, y - 1.6 * PT, wide, 3.2 * PT, stroke=1, fill=1)
    ink(canvas, INK, fill=True)
    canvas.drawCentredString(x, y - 0.85 * PT, text)


def _ends(sheet: Sheet, leaf: LeafSettingOut, size: Points) -> None:
    canvas = sheet.canvas
    middle = sheet.at(np.array([[size[0] / 2, 0.0], [size[0] / 2, size[1]]]))
    toward = {leaf.measures.neck_end: "neck", 3 - leaf.measures.neck_end: "tail"}
    pdf_letters(canvas, 7, bold=True)
    ink(canvas, INK, fill=True)
    canvas.drawCentredString(middle[0, 0], middle[0, 1] + 1.2 * PT, f"END 1, away ({toward[1]})")
    canvas.drawCentredString(middle[1, 0], middle[1, 1] - 3.2 * PT, f"END 2, toward you ({toward[2]})")
    right_joint = leaf.measures.datum.side == "right"
    away = sheet.x_pt - 1.2 * PT if right_joint else sheet.x_pt + size[0] * sheet.pt_per_mm + 3.2 * PT
    canvas.saveState()
    canvas.translate(away, sheet.y_pt - size[1] * sheet.pt_per_mm / 2)
    canvas.rotate(90)
    pdf_letters(canvas, 7)
    canvas.drawCentredString(0, 0, f"{'left' if right_joint else 'right'} edge")
    canvas.restoreState()


def _figures(sheet: Sheet, leaf: LeafSettingOut, size: Points, units: Unit) -> None:
    """Along the joint-side edge: what lies how far from end 1, with a leader to its place."""
    m = leaf.measures
    entries = [
        (s.along_mm, s.in_mm, f"at {bare(s.along_mm, units)}", f"joint {bare(s.in_mm, units)}")
        for s in m.stations
    ]
    for along, name in ((m.neck_along_mm, "neck"), (m.tail_along_mm, "tail")):
        entries.append((along, 0.0, f"{name} end", bare(along, units)))
    entries.sort()
    right = m.datum.side == "right"
    edge_x = sheet.x_pt + (size[0] * sheet.pt_per_mm if right else 0.0)
    wanted = [float(sheet.at(m.datum.place(e[0], 0.0)[None])[0, 1]) for e in entries]
    places = spread(wanted, 6.6 * PT, sheet.y_pt + 1 * PT, sheet.y_pt - size[1] * sheet.pt_per_mm - 1 * PT)
    canvas = sheet.canvas
    out = 1.0 if right else -1.0
    for (along, in_mm, first, second), y in zip(entries, places, strict=True):
        foot = sheet.at(m.datum.place(along, 0.0)[None])[0]
        inner = sheet.at(m.datum.place(along, max(in_mm, 0.0) + (0 if in_mm else 30))[None])[0]
        ink(canvas, INK)
        canvas.setLineWidth(0.5)
        canvas.line(foot[0], foot[1], edge_x + out * 4.2 * PT, y)
        stroke(sheet, np.array([m.datum.place(along, 0.0), m.datum.place(along, in_mm or 30.0)]), 0.6)
        canvas.circle(inner[0], inner[1], 0.9, stroke=0, fill=1)
        x = edge_x + out * 4.8 * PT
        ink(canvas, INK, fill=True)
        draw = canvas.drawString if right else canvas.drawRightString
        pdf_letters(canvas, 6.6)
        draw(x, y + 0.3 * PT, first)
        pdf_letters(canvas, 6.6, bold=True)
        draw(x, y - 2.4 * PT, second)
    canvas.saveState()
    canvas.translate(
        edge_x + out * 4.6 * PT + (0 if right else 2.4 * PT), sheet.y_pt - size[1] * sheet.pt_per_mm / 2
    )
    canvas.rotate(90)
    pdf_letters(canvas, 7, bold=True)
    canvas.drawCentredString(0, -2.2 * PT if right else 0, f"{m.datum.side.upper()} EDGE: joint, from end 1")
    canvas.restoreState()


def spread(wanted: list[float], apart: float, top: float, bottom: float) -> list[float]:
    """Places from the top down, each as near as can be to the wanted one, at least `apart` from the next."""
    places: list[float] = []
    for y in wanted:
        places.append(min(y, places[-1] - apart) if places else min(y, top))
    low = bottom
    for i in range(len(places) - 1, -1, -1):
        places[i] = max(places[i], low)
        low = places[i] + apart
    return places


def _half_widths(sheet: Sheet, leaf: LeafSettingOut, units: Unit) -> None:
    """The half widths, drawn from the joint line to the outline."""
    for bout in leaf.measures.bouts:
        ends = leaf.half.to_leaf(np.array([[0.0, bout.from_neck_mm], [bout.half_mm, bout.from_neck_mm]]))
        stroke(sheet, ends, 0.5)
        _word(sheet, bare(bout.half_mm, units), ends.mean(axis=0))
