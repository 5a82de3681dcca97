"""A stepped slit to print: a line of light whose width is known, to try the whole way from phone to figure.

It stands in the place of the leaves before the lamp. One edge is straight, the other steps by whole dots of
1/600 inch, so that printers of 600 and 1200 dots set it exactly. Toner spreads: a printed slit is narrower
than drawn by some hundredths, alike at every step, which the two end steps, given as shims, take out.
"""

from __future__ import annotations

from typing import Any

from seamlight.sheets.ink import INK, QUIET
from seamlight.sheets.page import PT, draw_check_bars, draw_heading, put_text

DOT_MM = 25.4 / 600
STEP_DOTS = (3, 4, 6, 8, 12, 9, 7, 6)  # neck end first; nowhere under the line between both ends
STEP_MM = 27.0
SLIT_MM = STEP_MM * len(STEP_DOTS)
MASK_MM = 80.0  # across the slit
SHIMS_MM = (round(STEP_DOTS[0] * DOT_MM, 3), round(STEP_DOTS[-1] * DOT_MM, 3))

_WORDS = (
    "Print at 100 %, densest black, on",
    "clear film for laser printers; on",
    "white paper it is fainter and softer.",
    "Tape it flat on the diffuser, or in the",
    "stand where the leaves go, lamp on.",
    "The lamp must show beyond both ends.",
    "Lock the exposure, take the picture.",
    "",
    "Then read it, neck end at the top:",
    f"length {SLIT_MM:g}, thickness 0.5,",
    f"shims {SHIMS_MM[0]:g} and {SHIMS_MM[1]:g}.",
    "",
    "What it proves: finding, following,",
    "your phone's tones, the steps between",
    "the ends. Not how deep a real slit is,",
    "nor what wood lets through.",
    "Look at it with a loupe: a torn or",
    "filled step proves nothing.",
)


def widths_mm() -> tuple[float, ...]:
    """The steps' widths as drawn, neck end first."""
    return tuple(dots * DOT_MM for dots in STEP_DOTS)


def slit_place(page_mm: tuple[float, float]) -> tuple[float, float]:
    """The straight edge's x and the neck end's y, mm from the page's lower left."""
    straight = round(page_mm[0] / 2 / DOT_MM) * DOT_MM
    return straight, page_mm[1] / 2 + SLIT_MM / 2


def draw_slit_target(canvas: Any, page_mm: tuple[float, float], which: str) -> None:
    """One page: the slit in its black mask, upright, the neck end at the top."""
    draw_heading(
        canvas, page_mm, "Stepped slit: a line of light of known width, for trying phone and lamp", which
    )
    draw_check_bars(canvas)
    straight, top = slit_place(page_mm)
    canvas.setFillGray(0.0)
    _black(canvas, straight - MASK_MM / 2, top - SLIT_MM, straight, top)
    for number, wide in enumerate(widths_mm()):
        high = top - STEP_MM * number
        # a hair's overlap along the slit, or a printer may show a line between two steps
        low = high - STEP_MM - (0.0 if number == len(STEP_DOTS) - 1 else 0.1)
        _black(canvas, straight + wide, low, straight + MASK_MM / 2, high)
        said = f"{wide:.3f} mm, {STEP_DOTS[number]} dots of 600"
        put_text(canvas, said, straight + MASK_MM / 2 + 4.0, high - STEP_MM / 2, 3.0, colour=INK)
    put_text(canvas, "neck end", straight + MASK_MM / 2 + 4.0, top - 4.0, 3.0, colour=QUIET)
    put_text(canvas, "tail end", straight + MASK_MM / 2 + 4.0, top - SLIT_MM + 2.0, 3.0, colour=QUIET)
    for row, words in enumerate(_WORDS):
        put_text(canvas, words, 15.0, top - 8.0 - 4.6 * row, 2.7)


def _black(canvas: Any, left: float, low: float, right: float, high: float) -> None:
    canvas.rect(left * PT, low * PT, (right - left) * PT, (high - low) * PT, stroke=0, fill=1)
