"""A drawing larger than the paper, cut into sheets that overlap."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

OVERLAP_MM = 12.0
_CLEAR_MM = 25.0


@dataclass(frozen=True)
class Tile:
    """One sheet: its number, place in the grid, and the part of the drawing that it shows (mm, y down)."""

    number: int
    row: int
    column: int
    left_mm: float
    top_mm: float


@dataclass(frozen=True)
class Tiling:
    """All sheets of a drawing. `window_mm` is what one sheet shows, `page_mm` its paper, either way up."""

    tiles: tuple[Tile, ...]
    rows: int
    columns: int
    window_mm: tuple[float, float]
    page_mm: tuple[float, float]

    def tile(self, row: int, column: int) -> Tile | None:
        """The sheet at a place of the grid, None beyond it."""
        if 0 <= row < self.rows and 0 <= column < self.columns:
            return self.tiles[row * self.columns + column]
        return None


def _count(need_mm: float, window_mm: float) -> int:
    return max(1, ceil((need_mm - OVERLAP_MM) / (window_mm - OVERLAP_MM) - 1e-9))


def _left_edge(left_mm: float, right_mm: float, columns: int, step_mm: float, window_mm: float) -> float:
    """Where the first column starts: the drawing in the middle, but no join on its centre line (x = 0)."""
    whole = (columns - 1) * step_mm + window_mm
    start = (left_mm + right_mm - whole) / 2
    joins = [start + k * step_mm + OVERLAP_MM / 2 for k in range(1, columns)]
    slack = (whole - (right_mm - left_mm)) / 2
    return start - min(slack, _CLEAR_MM) if any(abs(join) < _CLEAR_MM for join in joins) else start


def tiling(
    box_mm: tuple[float, float, float, float], page_mm: tuple[float, float], margin_mm: float
) -> Tiling:
    """The fewest sheets that show a box, the paper upright or lying, the drawing in their middle.

    Args:
        box_mm: left, top, right, bottom of the drawing.
        page_mm: the paper's width and height.
        margin_mm: left free along each edge of the paper.
    """
    left, top, right, bottom = box_mm
    best: Tiling | None = None
    for page in (page_mm, page_mm[::-1]):
        window = (page[0] - 2 * margin_mm, page[1] - 2 * margin_mm)
        columns, rows = _count(right - left, window[0]), _count(bottom - top, window[1])
        step = (window[0] - OVERLAP_MM, window[1] - OVERLAP_MM)
        x0 = _left_edge(left, right, columns, step[0], window[0])
        y0 = (top + bottom - (rows - 1) * step[1] - window[1]) / 2
        tiles = tuple(
            Tile(row * columns + column + 1, row, column, x0 + column * step[0], y0 + row * step[1])
            for row in range(rows)
            for column in range(columns)
        )
        if best is None or len(tiles) < len(best.tiles):
            best = Tiling(tiles, rows, columns, window, page)
    assert best is not None
    return best
