"""What the figure fixes: does the match fall when B is slid along, or moved across?"""

from __future__ import annotations

import cv2
import numpy as np

from seamlight.layout.figure import Figure, Lines
from seamlight.layout.fit import Fit

_ROW_MM = 2  # of the thinned rows
_SLIDE_ROWS = 6  # tried either way: 12 mm
_FAR_ROWS = 3  # from here on the match must have fallen: 6 mm
_ACROSS_PX = 40  # tried either way: 10 mm
_FAR_PX = 3
_FALL = 0.012  # of the match; straight clear invented wood falls by 0.003 at most
_FALL_ACROSS = 0.03
_TILE = (15, 120)  # rows and px: 30 mm square
_MARK = 12.0  # a tile whose loss stands out by this many deviations holds a mark


def fixed_by(figure_a: Figure, fit: Fit) -> tuple[bool, bool]:
    """Whether the slide and the shift across are fixed by the figure.

    The fitted B is moved over A: where no other slide (or shift) matches nearly as well, it is fixed. One
    small mark on straight wood weighs little in the whole, so tiles are asked as well.
    """
    a, b = (_thinned(lines) for lines in (np.where(fit.kept, figure_a.values(), np.float32(0)), fit.laid))
    if min(a.shape[0] - 4 * _SLIDE_ROWS, a.shape[1] - 4 * _ACROSS_PX) < 1:
        return False, False
    inner = np.ascontiguousarray(b[_SLIDE_ROWS:-_SLIDE_ROWS, _ACROSS_PX:-_ACROSS_PX])
    surface = cv2.matchTemplate(a, inner, cv2.TM_CCORR_NORMED)
    here = float(surface[_SLIDE_ROWS, _ACROSS_PX])
    by_slide = surface.max(axis=1)
    away = np.abs(np.arange(len(by_slide)) - _SLIDE_ROWS) >= _FAR_ROWS
    slide = here - float(by_slide[away].max()) > _FALL
    if not slide:
        rival = int(np.argmax(np.where(away, by_slide, -1)))
        slide = _mark_says(a, inner, rival, int(np.argmax(surface[rival])))
    row = surface[_SLIDE_ROWS]
    aside = np.abs(np.arange(len(row)) - _ACROSS_PX) >= _FAR_PX
    return slide, here - float(row[aside].max()) > _FALL_ACROSS


def _mark_says(a: Lines, inner: Lines, rival_row: int, rival_px: int) -> bool:
    """Whether some tile matches far worse at the rival slide than the run of tiles does."""
    rows, columns = inner.shape

    def agreement(top: int, left: int) -> Lines:
        return a[top : top + rows, left : left + columns] * inner

    loss = agreement(_SLIDE_ROWS, _ACROSS_PX) - agreement(rival_row, rival_px)
    down, over = rows // _TILE[0], columns // _TILE[1]
    if down * over < 12:
        return False
    tiles = (
        loss[: down * _TILE[0], : over * _TILE[1]].reshape(down, _TILE[0], over, _TILE[1]).mean(axis=(1, 3))
    )
    usual = float(np.median(tiles))
    spread = 1.4826 * float(np.median(np.abs(tiles - usual))) + 1e-4  # robust standard deviation
    return bool((tiles.max() - usual) / spread > _MARK)


def _thinned(lines: Lines) -> Lines:
    rows = lines.shape[0] // _ROW_MM
    return np.asarray(lines[: rows * _ROW_MM].reshape(rows, _ROW_MM, -1).mean(axis=1), dtype=np.float32)
