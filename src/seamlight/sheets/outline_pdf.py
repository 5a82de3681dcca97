"""An outline at full size as PDF: on tiled pages to tape together, or on one length of a roll."""

from __future__ import annotations

from math import ceil, floor
from pathlib import Path
from typing import Any

from seamlight.sheets.ink import INK, QUIET, RULE, Colour
from seamlight.sheets.outline_drawing import FullSize, Line, Role
from seamlight.sheets.page import (
    MARGIN_MM,
    PAPER_MM,
    PT,
    Paper,
    draw_check_bars,
    draw_heading,
    pdf_pages,
    put_text,
    set_ink,
)
from seamlight.sheets.tiles import OVERLAP_MM, Tile, Tiling, tiling

_INKS: dict[Role, tuple[Colour, float, tuple[float, ...]]] = {
    "outline": (INK, 0.35, ()),
    "centre line": (INK, 0.2, (9, 1.5, 1.5, 1.5)),
    "zones": (QUIET, 0.15, (2, 1.5)),
    "measures": (RULE, 0.15, ()),
    "corners": (INK, 0.2, ()),
}
_TICK_EVERY_MM, _TICK_MM = 40.0, 5.0


def write_pdf(drawing: FullSize, path: Path | str, paper: Paper) -> None:
    """Writes the drawing at full size, whole or not at all."""
    sheets = _on_roll(drawing) if paper == "roll" else tiling(drawing.box_mm, PAPER_MM[paper], MARGIN_MM)
    with pdf_pages(path, sheets.page_mm, f"{drawing.name}, outline at full size") as canvas:
        for tile in sheets.tiles:
            _draw_tile(canvas, drawing, sheets, tile)
            canvas.showPage()


def _on_roll(drawing: FullSize) -> Tiling:
    left, top, right, bottom = drawing.box_mm
    width = PAPER_MM["roll"][0]
    window = (width - 2 * MARGIN_MM, max(bottom - top, 180.0) + 12.0)
    tile = Tile(1, 0, 0, (left + right - window[0]) / 2, top - 6.0)
    return Tiling((tile,), 1, 1, window, (width, window[1] + 2 * MARGIN_MM))


def _draw_tile(canvas: Any, drawing: FullSize, sheets: Tiling, tile: Tile) -> None:
    width, height = sheets.window_mm
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(MARGIN_MM * PT, MARGIN_MM * PT, width * PT, height * PT)
    canvas.clipPath(window, stroke=0, fill=0)
    for line in drawing.lines:
        _draw_line(canvas, line, sheets, tile)
    for word in drawing.words:
        x, y = _on_page(word.x_mm, word.y_mm, sheets, tile)
        put_text(
            canvas,
            word.text,
            x,
            y,
            word.size_mm,
            align=word.align,
            colour=QUIET if word.role == "zones" else INK,
        )
    canvas.restoreState()
    _draw_joins(canvas, sheets, tile)
    place = f"sheet {tile.number} of {len(sheets.tiles)}"
    if len(sheets.tiles) > 1:
        place += (
            f": row {tile.row + 1}, column {tile.column + 1}; lay dashed lines and ticks on each other, tape"
        )
    draw_heading(canvas, sheets.page_mm, f"{drawing.name}, outline", place)
    draw_check_bars(canvas)


def _on_page(x_mm: float, y_mm: float, sheets: Tiling, tile: Tile) -> tuple[float, float]:
    """A place of the drawing on the paper, mm from its lower left corner."""
    return MARGIN_MM + x_mm - tile.left_mm, sheets.page_mm[1] - MARGIN_MM - (y_mm - tile.top_mm)


def _draw_line(canvas: Any, line: Line, sheets: Tiling, tile: Tile) -> None:
    colour, thick, dash = _INKS[line.role]
    set_ink(canvas, colour, thick, dash)
    track = canvas.beginPath()
    for i, (x_mm, y_mm) in enumerate(line.points):
        x, y = _on_page(float(x_mm), float(y_mm), sheets, tile)
        (track.lineTo if i else track.moveTo)(x * PT, y * PT)
    if line.closed:
        track.close()
    canvas.drawPath(track, stroke=1, fill=0)


def _draw_joins(canvas: Any, sheets: Tiling, tile: Tile) -> None:
    """Where a neighbour joins: a dashed line in the middle of the overlap, ticks across it, its number."""
    width, height = sheets.window_mm
    for row, column in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = sheets.tile(tile.row + row, tile.column + column)
        if other is None:
            continue
        canvas.saveState()
        if column:
            x = tile.left_mm + (width - OVERLAP_MM / 2 if column > 0 else OVERLAP_MM / 2)
            ends = ((x, tile.top_mm), (x, tile.top_mm + height))
        else:
            y = tile.top_mm + (height - OVERLAP_MM / 2 if row > 0 else OVERLAP_MM / 2)
            ends = ((tile.left_mm, y), (tile.left_mm + width, y))
        along = 1 if column else 0
        set_ink(canvas, QUIET, 0.15, (4, 2))
        _segment(canvas, *ends, sheets, tile)
        set_ink(canvas, INK, 0.2)
        first, last = ends[0][along], ends[1][along]
        for k in range(ceil(first / _TICK_EVERY_MM), floor(last / _TICK_EVERY_MM) + 1):
            at = k * _TICK_EVERY_MM
            if column:
                _segment(canvas, (ends[0][0] - _TICK_MM, at), (ends[0][0] + _TICK_MM, at), sheets, tile)
            else:
                _segment(canvas, (at, ends[0][1] - _TICK_MM), (at, ends[0][1] + _TICK_MM), sheets, tile)
        canvas.restoreState()
        _name_neighbour(canvas, other.number, ends, (row, column), sheets, tile)


def _segment(canvas: Any, a: tuple[float, float], b: tuple[float, float], sheets: Tiling, tile: Tile) -> None:
    (xa, ya), (xb, yb) = (_on_page(x, y, sheets, tile) for x, y in (a, b))
    canvas.line(xa * PT, ya * PT, xb * PT, yb * PT)


def _name_neighbour(
    canvas: Any,
    number: int,
    ends: tuple[tuple[float, float], tuple[float, float]],
    side: tuple[int, int],
    sheets: Tiling,
    tile: Tile,
) -> None:
    """`sheet 2` beside the join line, twice along it, on this sheet's own side."""
    row, column = side
    for share in (0.13, 0.87):
        x = ends[0][0] + share * (ends[1][0] - ends[0][0])
        y = ends[0][1] + share * (ends[1][1] - ends[0][1])
        px, py = _on_page(x, y, sheets, tile)
        if column:
            put_text(
                canvas,
                f"sheet {number}",
                px - 2 * column,
                py,
                2.8,
                align="middle",
                colour=QUIET,
                turn_deg=90 * column,
            )
        else:
            put_text(
                canvas,
                f"sheet {number}",
                px,
                py + (1.2 if row > 0 else -3.2),
                2.8,
                align="middle",
                colour=QUIET,
            )
