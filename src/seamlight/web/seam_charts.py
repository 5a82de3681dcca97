"""A joint's readings as charts to take away: the straight seam with its light, strokes, and all readings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from seamlight.seam.document import SeamDocument
from seamlight.shop.seam_bench import JointRead
from seamlight.units import MM_PER_INCH, Unit
from seamlight.web.chart_files import ACCENT, INK, INK_2, WARN, plain_axes
from seamlight.web.seam_drawn import OWN_LEAST, Bar, bars_of

Rgb = NDArray[np.uint8]
PER_MM = {"mm": 1.0, "inch": 1.0 / MM_PER_INCH}
SHORT = {"mm": "mm", "inch": "in"}
ROW_IN = 0.45  # height of one row of strokes, inches


def reading_chart(
    title: str, document: SeamDocument, before: SeamDocument | None, straight: Rgb | None, unit: Unit
) -> Figure:
    """One reading: the seam laid straight, the gap (or the light) over it, where it touches, the strokes.

    Args:
        before: the reading that lies under it, in the same measure.
        straight: (h, w, 3) the seam, neck end left; None for feelers.
    """
    per_mm, length = PER_MM[unit], document.length_mm * PER_MM[unit]
    bars = bars_of(document.strokes, per_mm)
    rows = max((bar.row for bar in bars), default=-1) + 1
    in_mm = document.fit_gap_mm is not None
    heights = ([0.35] if straight is not None else []) + [3.2] + ([ROW_IN * rows] if rows else [])
    figure = Figure(figsize=(9.0, sum(heights) + 1.2), layout="constrained", facecolor="white")
    figure.suptitle(title, color=INK, fontweight="bold")
    parts = list(figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0])
    if straight is not None:
        strip = parts.pop(0)
        strip.imshow(straight, aspect="auto", extent=(0.0, length, 0.0, 1.0))
        strip.set_axis_off()
    axes = parts.pop(0)
    plain_axes(axes, "", f"gap, {SHORT[unit]}" if in_mm else "light, share of full light")
    if before is not None:
        axes.plot(*_line(before, in_mm, per_mm), "--", color=INK_2, linewidth=1.4, label="the reading before")
    x, y = _line(document, in_mm, per_mm)
    axes.plot(x, y, color=INK, linewidth=1.8, label="this reading")
    axes.fill_between(x, 0.0, y, color=ACCENT, alpha=0.25, linewidth=0.0)
    _touching(axes, document, per_mm)
    axes.set_xlim(0.0, length)
    high = max(y.max(initial=0.0), *axes.get_ylim(), OWN_LEAST if not in_mm else 0.02 * per_mm)
    axes.set_ylim(-0.04 * high, 1.12 * high)
    _widest(axes, document, per_mm, unit)
    axes.set_xlabel(
        f"from the neck end (left), {SHORT[unit]}: {document.verdict}, {document.shape}", color=INK
    )
    axes.legend(frameon=False, loc="upper right")
    if bars:
        _strokes(parts.pop(0), bars, rows, length)
    return figure


def _strokes(axes: Axes, bars: Sequence[Bar], rows: int, length: float) -> None:
    """Each step's strokes where they are taken, a row a step."""
    axes.set_xlim(0.0, length)
    axes.set_ylim(rows, 0.0)
    axes.set_axis_off()
    plain = {"facecolor": "white", "edgecolor": "none", "pad": 1.5}
    for bar in bars:
        wide, row = bar.to_x - bar.from_x, bar.row + 0.5
        axes.barh(row, wide, 0.8, bar.from_x, facecolor="white", edgecolor=WARN, hatch="///", linewidth=1.0)
        said = f"{bar.strokes.count} ×"
        axes.text(
            bar.from_x + wide / 2, row, said, ha="center", va="center", color=INK, weight="bold", bbox=plain
        )
    axes.set_title(
        f"strokes with {bars[0].strokes.tool}, upper row first", loc="left", fontsize=10, color=WARN, pad=3
    )


def _line(
    document: SeamDocument, in_mm: bool, per_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    values = (document.fit_gap_mm if in_mm else document.light) or []
    return np.array(document.s_mm) * per_mm, np.array(values) * (per_mm if in_mm else 1.0)


def _touching(axes: Axes, document: SeamDocument, per_mm: float) -> None:
    for number, (start, stop) in enumerate(document.touching_mm):
        name = "the edges touch" if number == 0 else None
        axes.plot([start * per_mm, stop * per_mm], [0.0, 0.0], color=INK, linewidth=6.0, label=name)


def _widest(axes: Axes, document: SeamDocument, per_mm: float, unit: Unit) -> None:
    """The widest place in figures, with its doubt."""
    if document.widest_mm is None or document.shape == "closed":
        return
    at, wide = document.at_mm * per_mm, document.widest_mm * per_mm
    doubt = (
        "" if document.error_mm is None else f" ± {document.error_mm * per_mm:.{3 if unit == 'mm' else 4}f}"
    )
    axes.annotate(
        f"{wide:.{2 if unit == 'mm' else 4}f}{doubt} {SHORT[unit]}",
        (at, wide),
        xytext=(0, 6),
        textcoords="offset points",
        ha="center",
        color=INK,
        fontweight="bold",
    )


def history_chart(title: str, read: Sequence[JointRead], unit: Unit, days: Sequence[str]) -> Figure:
    """Every reading as a line, one above another, the newest on top.

    Those in mm share one scale; a relative one has its own, up to the most light in it.
    """
    per_mm = PER_MM[unit]
    figure = Figure(figsize=(9.0, 1.2 + 1.25 * len(read)), layout="constrained", facecolor="white")
    figure.suptitle(title, color=INK, fontweight="bold")
    known = [one.judged for one in read if one.judged.fit_gap_mm is not None]
    top = max((max(one.fit_gap_mm or [0.0]) for one in known), default=0.0) * per_mm
    rows = figure.subplots(len(read), 1, squeeze=False)[:, 0]
    for axes, one, day in zip(rows, reversed(read), reversed(days), strict=True):
        document = one.judged
        in_mm = document.fit_gap_mm is not None
        x, y = _line(document, in_mm, per_mm)
        plain_axes(axes, "", SHORT[unit] if in_mm else "own scale")
        axes.plot(x, y, "-" if in_mm else "--", color=INK, linewidth=1.5)
        axes.fill_between(x, 0.0, y, color=ACCENT if in_mm else INK_2, alpha=0.25, linewidth=0.0)
        axes.set_ylim(0.0, max(top if in_mm else float(y.max(initial=OWN_LEAST)), 1e-6) * 1.08)
        axes.set_xlim(0.0, document.length_mm * per_mm)
        if not in_mm:
            axes.set_yticks([])
        said = document.shape + ("" if in_mm else "; light only: where, not how wide")
        axes.set_title(f"{day}: {said}", loc="left", fontsize=10, color=INK)
    rows[-1].set_xlabel(f"from the neck end, {SHORT[unit]}", color=INK)
    return figure
