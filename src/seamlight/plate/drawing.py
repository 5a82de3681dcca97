"""A plate drawn with one of its modes: still lines, where to hold, where to tap. SVG of its own, in mm."""

from __future__ import annotations

from collections.abc import Callable
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from seamlight.plate.named import Name
from seamlight.plate.piece import Piece
from seamlight.plate.places import hold_and_tap
from seamlight.plate.ritz import RitzMode

_MARGIN_MM, _MARK_MM = 26.0, 9.0
Placed = Callable[[float, float], tuple[float, float]]


def mode_svg(name: Name, mode: RitzMode, piece: Piece, hz: float | None = None) -> str:
    """An SVG of the plate, grain upright: still lines dashed, holds as rings, the tap as a cross.

    Lines take the page's colour; parts that move one way are hatched, the others are not, so that the drawing
    says the same without colour.
    """
    told = hold_and_tap(name, mode)
    long, half1, half2 = piece.length_mm, piece.width1_mm / 2, piece.width2_mm / 2
    wide = 2 * max(half1, half2)

    def place(along: float, across: float) -> tuple[float, float]:
        half = half1 + (half2 - half1) * along
        return wide / 2 + (2 * across - 1) * half, along * long

    title = f"{name}: {told.what}"
    heard = f"{name}, {hz:.1f} Hz" if hz is not None else name
    edge = " ".join(f"{x:.1f},{y:.1f}" for x, y in (place(0, 0), place(0, 1), place(1, 1), place(1, 0)))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(title)}'
        f' viewBox="{-_MARGIN_MM:g} {-_MARGIN_MM:g} {wide + 2 * _MARGIN_MM:.1f} {long + 3 * _MARGIN_MM:.1f}"'
        ' fill="none" stroke="currentColor" stroke-width="1.6">',
        f"<title>{escape(title)}</title>",
        *_hatching(mode, place),
        f'<polygon points="{edge}" stroke-width="2.4"/>',
    ]
    for line in told.still_lines:
        points = " ".join("{:.1f},{:.1f}".format(*place(*point)) for point in line)
        parts.append(f'<polyline points="{points}" stroke-dasharray="8 5"/>')
    for hold in told.hold:
        x, y = place(*hold)
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_MARK_MM}" stroke-width="3"/>')
    x, y = place(*told.tap)
    arm = _MARK_MM
    parts.append(
        f'<path d="M{x - arm:.1f} {y - arm:.1f}l{2 * arm} {2 * arm}m{-2 * arm} 0l{2 * arm} {-2 * arm}"'
        ' stroke-width="3.5"/>'
    )
    parts.append(
        f'<text x="{wide / 2:.1f}" y="{long + 1.4 * _MARGIN_MM:.1f}" text-anchor="middle" font-size="20"'
        f' fill="currentColor" stroke="none">{escape(heard)}</text></svg>'
    )
    return "\n".join(parts)


def _hatching(mode: RitzMode, place: Placed) -> list[str]:
    """Short strokes across the plate wherever it moves up."""
    along, across = np.linspace(0.02, 0.98, 33), np.linspace(0, 1, 81)
    shape = mode.shape(along, across)
    shape = shape if abs(shape.max()) >= abs(shape.min()) else -shape
    strokes = []
    for x, row in zip(along, shape, strict=True):
        up = np.flatnonzero(np.diff(np.concatenate(([False], row > 0.15, [False])).astype(int)))
        for start, end in zip(up[::2], up[1::2], strict=True):
            x0, y0 = place(float(x), float(across[start]))
            x1, y1 = place(float(x), float(across[end - 1]))
            if x1 - x0 > 2:
                strokes.append(f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}")
    return [f'<path d="{"".join(strokes)}" stroke-width="0.6"/>'] if strokes else []
