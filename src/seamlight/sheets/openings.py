"""All openings of a pair side by side, as they will look book-matched: a maker chooses by looking."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from seamlight.layout.opening import Layout, Opening
from seamlight.photo.flat import FlatLeaf, Rgb
from seamlight.sheets.book import View, body_view
from seamlight.sheets.edges import EDGES_HIGH, draw_edges
from seamlight.sheets.ink import INK, PAPER, QUIET, RULE, WARN, Colour, cut_to, fold, letters
from seamlight.sheets.legend import draw_legend
from seamlight.sheets.lines import as_rgb
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.words import a_and_b, heading, length, main_reasons, purpose, verdict, verdict_sentence
from seamlight.units import Unit

PANEL = 800  # px across one opening
GAP = 24
TEXT, HEAD, TITLE = 22, 27, 34
LINE = 1.36  # line height over letter size
ROOM_MM = 30  # paper beside the wood, where the room is written


@dataclass(frozen=True)
class Panel:
    """One opening's words, folded to the panel, and the height that they take."""

    number: int
    opening: Opening
    reasons: tuple[tuple[str, ...], ...]

    @property
    def words_high(self) -> int:
        return round((sum(len(r) for r in self.reasons) * LINE + 0.35 * len(self.reasons)) * TEXT)


def openings_picture(
    layout: Layout,
    flat_a: FlatLeaf,
    flat_b: FlatLeaf | None,
    *,
    units: Unit = "mm",
    columns: int = 2,
    other_a: FlatLeaf | None = None,
    other_b: FlatLeaf | None = None,
) -> Rgb:
    """Every opening with its verdict and reasons, (h, w, 3).

    Args:
        flat_b: None where B was not photographed; A's mirrored picture stands in.
        columns: openings side by side; 1 makes a tall picture for a phone held upright.
        other_a: leaf A's other face already carried into A's frame, for the openings that show it.
        other_b: the same for B.
    """
    pictures = Pictures(flat_a, flat_b, other_a, other_b)
    wide = columns * PANEL + (columns + 1) * GAP
    view = _fitted_view(layout, PANEL)
    panels = [_panel(n, o) for n, o in enumerate(layout.openings, 1)]
    rows = [panels[i : i + columns] for i in range(0, len(panels), columns)]
    fixed = round(HEAD * 1.7 + TEXT * 2.0) + view.height + EDGES_HIGH + 2 * GAP
    highs = [fixed + max(p.words_high for p in row) for row in rows]
    top = round(TITLE * 1.5 + TEXT * 1.6) + GAP
    key = draw_legend(wide - 2 * GAP, TEXT)
    canvas = Image.new("RGB", (wide, top + sum(highs) + GAP * len(rows) + key.height + GAP), PAPER)
    _title(canvas, layout, flat_b is None, units)
    y = top
    for row, high in zip(rows, highs, strict=True):
        ImageDraw.Draw(canvas).line((GAP, y, wide - GAP, y), fill=RULE, width=2)
        for column, panel in enumerate(row):
            _draw_panel(
                canvas, (GAP + column * (PANEL + GAP), y + GAP // 2), panel, layout, pictures, view, units
            )
        y += high + GAP
    ImageDraw.Draw(canvas).line((GAP, y, wide - GAP, y), fill=RULE, width=2)
    canvas.paste(key, (GAP, y + GAP // 2))
    return as_rgb(canvas)


def _fitted_view(layout: Layout, width: int) -> View:
    """One window for all openings, so that they compare; as wide as a panel."""
    loose = body_view(layout, layout.openings, 1.0)
    px_per_mm = width / (2 * (-loose.left_mm + ROOM_MM))
    fitted = body_view(layout, layout.openings, px_per_mm, margin_mm=4)
    return View(px_per_mm, -width / 2 / px_per_mm, fitted.top_mm, width, fitted.height)


def _panel(number: int, opening: Opening) -> Panel:
    reasons = tuple(tuple(fold(r, PANEL - 2 * TEXT, TEXT)) for r in main_reasons(opening))
    return Panel(number, opening, reasons)


def _title(canvas: Image.Image, layout: Layout, alone: bool, units: Unit) -> None:
    draw = ImageDraw.Draw(canvas)
    room = canvas.width - 2 * GAP
    title = f"Ways to open this pair: {purpose(layout)}"
    draw.text((GAP, GAP), cut_to(title, room, TITLE, True), font=letters(TITLE, True), fill=INK)
    trims = (
        f"{length(layout.settings.trim_mm, units)}, {length(layout.settings.end_trim_mm, units)} at the ends"
    )
    said = "leaf B not photographed: A's mirror stands in" if alone else a_and_b(layout)
    whose = "Seen from the front, neck up; edges and ends are leaf A's."
    line = f"{whose} {said[0].upper()}{said[1:]}. Trim {trims}."
    draw.text((GAP, GAP + TITLE * 1.45), cut_to(line, room, TEXT), font=letters(TEXT), fill=QUIET)


def _draw_panel(
    canvas: Image.Image,
    at: tuple[int, int],
    panel: Panel,
    layout: Layout,
    pictures: Pictures,
    view: View,
    units: Unit,
) -> None:
    draw = ImageDraw.Draw(canvas)
    x, y = at
    opening = panel.opening
    head = cut_to(heading(opening, panel.number), PANEL, HEAD, True)
    draw.text((x, y), head, font=letters(HEAD, True), fill=INK)
    y += round(HEAD * 1.5)
    mark(draw, (x + TEXT * 0.5, y + TEXT * 0.55), TEXT, opening)
    score = f"score {opening.score:.0f} of 100"
    draw.text((x + PANEL, y), score, font=letters(TEXT), fill=QUIET, anchor="ra")
    room = PANEL - TEXT * 2 - letters(TEXT).getlength(score) - GAP
    said = cut_to(verdict_sentence(opening, units), room, TEXT, True)
    draw.text((x + TEXT * 1.5, y), said, font=letters(TEXT, True), fill=_verdict_colour(opening))
    y += round(TEXT * 1.7)
    canvas.paste(draw_opening(layout, opening, pictures, view, Look(1.7, TEXT), units), (x, y))
    y += view.height + GAP // 2
    canvas.paste(draw_edges(layout, opening, pictures, PANEL, units), (x, y))
    y += EDGES_HIGH + GAP // 2
    for reason in panel.reasons:
        draw.ellipse((x + 4, y + TEXT * 0.5, x + 10, y + TEXT * 0.5 + 6), fill=QUIET)
        for line in reason:
            draw.text((x + TEXT, y), line, font=letters(TEXT), fill=INK)
            y += round(TEXT * LINE)
        y += round(TEXT * 0.35)


def _verdict_colour(opening: Opening) -> Colour:
    return INK if verdict(opening) == "fits" else WARN


def mark(draw: ImageDraw.ImageDraw, middle: tuple[float, float], size: float, opening: Opening) -> None:
    """A mark that does not need colour: a full disc fits, a half disc is marginal, a cross is short."""
    x, y = middle
    r = size * 0.42
    kind = verdict(opening)
    colour = _verdict_colour(opening)
    box = (x - r, y - r, x + r, y + r)
    if kind == "fits":
        draw.ellipse(box, fill=colour)
        tick = np.array([[-0.5, 0.0], [-0.12, 0.4], [0.52, -0.38]]) * r + (x, y)
        draw.line(
            [(float(a), float(b)) for a, b in tick], fill=PAPER, width=max(2, round(size / 9)), joint="curve"
        )
    elif kind == "marginal":
        draw.ellipse(box, outline=colour, width=max(2, round(size / 10)))
        draw.pieslice(box, 90, 270, fill=colour)
    else:
        wide = max(3, round(size / 6))
        draw.line((x - r * 0.8, y - r * 0.8, x + r * 0.8, y + r * 0.8), fill=colour, width=wide)
        draw.line((x - r * 0.8, y + r * 0.8, x + r * 0.8, y - r * 0.8), fill=colour, width=wide)
