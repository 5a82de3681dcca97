"""A joint's reading drawn: the gap, the reading before under it, where it touches, the next strokes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seamlight.seam.document import SeamDocument, StrokesPart
from seamlight.shop.seam_bench import JointRead
from seamlight.units import MM_PER_INCH, Unit
from seamlight.web.curves import WIDE, Curve, curve, round_up

HIGH = 380.0
TICKS_MM = {"mm": 100.0, "inch": 4 * MM_PER_INCH}
Span = tuple[float, float]
OWN_LEAST = 0.1  # of full light: a relative reading's own scale goes no lower, or noise would look like gaps


@dataclass(frozen=True)
class Bar:
    """Strokes between two places, in the drawing's units along, and in which row they are taken."""

    from_x: float
    to_x: float
    row: int
    strokes: StrokesPart


@dataclass(frozen=True)
class Drawn:
    """One reading in a box of `WIDE` x `HIGH`; `top` is its top line's gap in mm, or 1 for full light."""

    curve: Curve
    before: Curve | None
    before_read: JointRead | None
    top: float
    in_mm: bool
    touching: tuple[Span, ...]
    bars: tuple[Bar, ...]
    rows: int
    ticks: tuple[tuple[float, str], ...]
    peak: Span | None  # x and y of the widest place


def drawn(document: SeamDocument, earlier: Sequence[JointRead], unit: Unit) -> Drawn:
    """A reading drawn over the one before it, at one scale.

    Args:
        document: the reading.
        earlier: readings of the same joint, oldest first.
    """
    in_mm = document.fit_gap_mm is not None
    values = _values(document, in_mm)
    before = next((one for one in reversed(earlier) if _comparable(one.judged, in_mm)), None)
    old = _values(before.judged, in_mm) if before is not None else []
    top = round_up(max([*values, *old], default=0.0)) if in_mm else 1.0
    length = document.length_mm
    per_mm = WIDE / length
    bars = bars_of(document.strokes, per_mm)
    step = TICKS_MM[unit]
    at = [number * step for number in range(int(length / step + 0.999))]
    widest = max(values, default=0.0)
    return Drawn(
        curve=curve(document.s_mm, values, length, top, HIGH),
        before=curve(before.judged.s_mm, old, length, top, HIGH) if before is not None else None,
        before_read=before,
        top=top,
        in_mm=in_mm,
        touching=tuple((a * per_mm, b * per_mm) for a, b in document.touching_mm),
        bars=bars,
        rows=max((bar.row for bar in bars), default=-1) + 1,
        ticks=tuple((mm * per_mm, f"{mm / (1 if unit == 'mm' else MM_PER_INCH):.0f}") for mm in at),
        peak=(document.at_mm * per_mm, HIGH - widest / top * HIGH) if document.widest_mm else None,
    )


def bars_of(strokes: Sequence[StrokesPart], per_mm: float) -> tuple[Bar, ...]:
    """Each step's strokes in a row of its own: what overlaps is taken one after the other."""
    found: list[Bar] = []
    row, reached = 0, -1.0
    for one in strokes:
        if one.from_mm <= reached:
            row, reached = row + 1, -1.0
        reached = one.to_mm
        found.append(Bar(one.from_mm * per_mm, one.to_mm * per_mm, row, one))
    return tuple(found)


@dataclass(frozen=True)
class Past:
    """One reading of the history: those in mm at one scale, each relative one at its own."""

    one: JointRead
    curve: Curve
    top: float  # mm, or the most light as a share of full light
    in_mm: bool


def history_of(read: Sequence[JointRead]) -> tuple[Past, ...]:
    """Readings newest first. What is relative has no millimetres: the most light in it is its own top."""
    known = [one.judged for one in read if one.judged.fit_gap_mm is not None]
    top_mm = round_up(max((max(_values(one, True)) for one in known), default=0.0))
    return tuple(_past(one, top_mm) for one in reversed(read))


def _past(one: JointRead, top_mm: float) -> Past:
    document = one.judged
    in_mm = document.fit_gap_mm is not None
    values = _values(document, in_mm)
    top = top_mm if in_mm else max([*values, OWN_LEAST])
    return Past(one, curve(document.s_mm, values, document.length_mm, top), top, in_mm)


def _comparable(document: SeamDocument, in_mm: bool) -> bool:
    return (document.fit_gap_mm is not None) if in_mm else (document.light is not None)


def _values(document: SeamDocument, in_mm: bool) -> list[float]:
    return list((document.fit_gap_mm if in_mm else document.light) or [])
