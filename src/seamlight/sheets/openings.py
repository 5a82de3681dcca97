"""All openings of a pair side by side, as they will look book-matched: a maker chooses by looking."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from seamlight.layout.opening import Layout, Opening
from seamlight.photo.flat import FlatLeaf, Rgb
from seamlight.sheets.book import View, body_view
from seamlight.sheets.edges import EDGES_HIGH, draw_edges
from seamlight.sheets.ink import INK, PAPER, QUIET, RULE, WARN, Colour, fold, letters, width_px
from seamlight.sheets.legend import draw_legend
from seamlight.sheets.lines import as_rgb
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.words import (
    ALONE,
    SLIPPED,
    Match,
    a_and_b,
    heading,
    length,
    main_reasons,
    purpose,
    verdict,
    verdict_sentence,
)
from seamlight.units import Unit

PANEL = 800  # px across one opening
GAP = 24
TEXT, HEAD, TITLE = 22, 27, 34
LINE = 1.36  # line height over letter size
ROOM_MM = 30  # paper beside the wood, where the room is written


@dataclass(frozen=True)
class Panel:
    """One opening's words, folded to the panel, and the height that they take."""

    opening: Opening
    head: tuple[str, ...]
    verdict: tuple[str, ...]
    reasons: tuple[tuple[str, ...], ...]

    @property
    def head_high(self) -> int:
        return round(len(self.head) * HEAD * LINE + len(self.verdict) * TEXT * LINE + TEXT * 0.5)

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
    panels = [_panel(n, o, units, layout.settings.match) for n, o in enumerate(layout.openings, 1)]
    rows = [panels[i : i + columns] for i in range(0, len(panels), columns)]
    fixed = view.height + EDGES_HIGH + 2 * GAP
    heads = [max(p.head_high for p in row) for row in rows]
    highs = [fixed + head + max(p.words_high for p in row) for row, head in zip(rows, heads, strict=True)]
    intro = fold(_intro(layout, flat_b is None, units), wide - 2 * GAP, TEXT)
    top = round(TITLE * 1.5 + TEXT * (LINE * len(intro) + 0.3)) + GAP
    key = draw_legend(wide - 2 * GAP, TEXT, hidden=bool(layout.a.other_flaws or layout.b.other_flaws))
    canvas = Image.new("RGB", (wide, top + sum(highs) + GAP * len(rows) + key.height + GAP), PAPER)
    _title(canvas, layout, intro)
    y = top
    for row, high, head in zip(rows, highs, heads, strict=True):
        ImageDraw.Draw(canvas).line((GAP, y, wide - GAP, y), fill=RULE, width=2)
        for column, panel in enumerate(row):
            at = (GAP + column * (PANEL + GAP), y + GAP // 2)
            _draw_panel(canvas, at, panel, head, layout, pictures, view, units)
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


def _panel(number: int, opening: Opening, units: Unit, match: Match) -> Panel:
    said = f"{verdict_sentence(opening, units)}; score {opening.score:.0f} of 100"
    return Panel(
        opening,
        tuple(fold(heading(opening, number, match), PANEL, HEAD, True)),
        tuple(fold(said, PANEL - 2 * TEXT, TEXT, True)),
        tuple(tuple(fold(r, PANEL - 2 * TEXT, TEXT)) for r in main_reasons(opening, units)),
    )


def _title(canvas: Image.Image, layout: Layout, intro: list[str]) -> None:
    draw = ImageDraw.Draw(canvas)
    title = f"Ways to open this pair: {purpose(layout)}"
    fitted = min(TITLE, TITLE * (canvas.width - 2 * GAP) / width_px(title, TITLE, True))
    draw.text((GAP, GAP), title, font=letters(fitted, True), fill=INK)
    for n, line in enumerate(intro):
        draw.text((GAP, GAP + TITLE * 1.45 + n * TEXT * LINE), line, font=letters(TEXT), fill=QUIET)


def _intro(layout: Layout, alone: bool, units: Unit) -> str:
    trims = (
        f"{length(layout.settings.trim_mm, units)}, {length(layout.settings.end_trim_mm, units)} at the ends"
    )
    said = ALONE if alone else a_and_b(layout)
    whose = "Seen from the front, neck up; edges and ends are leaf A's."
    slipped = f" {SLIPPED[0].upper()}{SLIPPED[1:]}." if layout.settings.match == "slip" else ""
    return f"{whose} {said[0].upper()}{said[1:]}. Trim {trims}.{slipped}"


def _draw_panel(
    canvas: Image.Image,
    at: tuple[int, int],
    panel: Panel,
    head_high: int,
    layout: Layout,
    pictures: Pictures,
    view: View,
    units: Unit,
) -> None:
    draw = ImageDraw.Draw(canvas)
    x, y = at
    opening = panel.opening
    line_y: float = y
    for line in panel.head:
        draw.text((x, line_y), line, font=letters(HEAD, True), fill=INK)
        line_y += HEAD * LINE
    mark(draw, (x + TEXT * 0.5, line_y + TEXT * 0.55), TEXT, opening)
    for line in panel.verdict:
        draw.text((x + TEXT * 1.5, line_y), line, font=letters(TEXT, True), fill=_verdict_colour(opening))
        line_y += TEXT * LINE
    y += head_high
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
