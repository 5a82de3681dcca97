"""Glue, a few strokes, or plane again."""

from __future__ import annotations

from typing import Literal

from seamlight.seam.clamping import Wanted
from seamlight.seam.shape import Shape
from seamlight.seam.square import Square

Verdict = Literal["glue", "a few strokes", "plane again"]

# common practice, no source: paper slides into the hollow, two sheets do not
GLUE_TO_MM = 0.1
# common practice, no source: from here on full strokes with the plane are quicker than the board
PLANE_FROM_MM = 0.5
PLANE_FROM_STROKES = 60
SHARE_FOR_CLOSING = (
    0.25  # of the highest pressure wanted: the rest is the glue's (common practice, no source)
)


def verdict_of(
    *,
    shape: Shape,
    widest_mm: float,
    error_mm: float,
    closing_mpa: float,
    wants: Wanted,
    feasible: bool,
    square: Square | None,
    too_deep: bool,
    strokes: int,
    stop: bool,
) -> Verdict:
    """The verdict on a joint whose gap is known.

    Args:
        too_deep: the take-off is more than the room left on the layout.
        strokes: that the plan asks for.
        stop: three passes in a row made it worse.
    """
    askew = square is not None and square.must_be_squared
    little = widest_mm <= GLUE_TO_MM + min(error_mm, 0.005)
    pulls_shut = feasible and little and closing_mpa <= SHARE_FOR_CLOSING * wants.pressure_mpa.high
    if shape == "wind":
        return "plane again"
    if (shape == "closed" or pulls_shut) and not askew:
        return "glue"
    if stop or too_deep or widest_mm >= PLANE_FROM_MM or strokes > PLANE_FROM_STROKES:
        return "plane again"
    return "a few strokes"
