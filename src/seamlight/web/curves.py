"""Curves as SVG paths for pages, at one scale for all that are shown together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

WIDE, HIGH = 1000.0, 200.0


@dataclass(frozen=True)
class Curve:
    """One curve: a line and the area under it, in a box `WIDE` wide, y down from the top."""

    line: str
    area: str


def curve(x: Sequence[float], y: Sequence[float], most_x: float, most_y: float, high: float = HIGH) -> Curve:
    """A curve over x from 0 to `most_x`, y from 0 at the bottom to `most_y` at the top."""
    if len(x) < 2:
        return Curve("", "")
    points = [
        (at / max(most_x, 1e-9) * WIDE, high - min(value / max(most_y, 1e-9), 1.0) * high)
        for at, value in zip(x, y, strict=True)
    ]
    line = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in points)
    return Curve(line, f"{line}L{points[-1][0]:.1f} {high:g}L{points[0][0]:.1f} {high:g}Z")


def round_up(value: float) -> float:
    """The next of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten, for a scale's end."""
    if value <= 0:
        return 1.0
    step = 1.0
    while step > value:
        step /= 10
    while step * 10 < value:
        step *= 10
    return next(step * times for times in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if step * times >= value * 0.999)
