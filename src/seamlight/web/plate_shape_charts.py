"""The outline's plate and a brace drawn for files."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.tri import Triangulation

from seamlight.plate import OutlinePlate
from seamlight.plate.section import SECTIONS
from seamlight.shop.plate_documents import BraceDocument
from seamlight.units import MM_PER_INCH
from seamlight.web.chart_files import ACCENT, INK, INK_2, RULE, new_chart

_LEGEND = "Shaded: moves one way while the rest moves the other. Dashed: stays still. Neck end on top."


def outline_figure(title: str, plate: OutlinePlate) -> Figure:
    """The first modes of an outline's plate, six at most."""
    figure = Figure(figsize=(8.0, 8.5), layout="constrained", facecolor="white")
    figure.suptitle(title, color=INK, fontweight="bold", x=0.02, ha="left")
    mesh = Triangulation(plate.nodes_mm[:, 0], plate.nodes_mm[:, 1], plate.triangles)
    rim = _rim(plate)
    for axes, hz, shape in zip(figure.subplots(2, 3).flat, plate.hz, plate.shapes, strict=False):
        one_way = shape if abs(shape.max()) >= abs(shape.min()) else -shape
        axes.tricontourf(mesh, one_way, levels=[0.15, 1e9], colors=[RULE])
        axes.tricontour(mesh, one_way, levels=[0.0], colors=[ACCENT], linestyles="dashed", linewidths=1.0)
        for a, b in rim:
            axes.plot(*plate.nodes_mm[[a, b]].T, color=INK, linewidth=1.0)
        axes.set_aspect("equal")
        axes.invert_yaxis()
        axes.set_axis_off()
        axes.set_title(f"{hz:.0f} Hz", color=INK)
    figure.supxlabel(_LEGEND, color=INK_2, fontsize=9)
    return figure


def _rim(plate: OutlinePlate) -> list[tuple[int, int]]:
    """Edges that belong to one triangle."""
    t = plate.triangles
    sides = np.sort(np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=1)
    edges, count = np.unique(sides, axis=0, return_counts=True)
    return [(int(a), int(b)) for a, b in edges[count == 1]]


def brace_figure(title: str, brace: BraceDocument, unit: str) -> Figure:
    """A brace from its side, height drawn larger than length, with the even one that gives as much.

    Args:
        unit: "mm" or "inch".
    """
    per_mm, words, places = (1 / MM_PER_INCH, "inches", 3) if unit == "inch" else (1.0, "mm", 1)
    figure, axes = new_chart(title, f"along, {words}", f"height, {words}", size_in=(8.0, 3.4))
    s, h = np.array(brace.s_mm) * per_mm, np.array(brace.heights_mm) * per_mm
    even = brace.even_height_mm * per_mm
    axes.fill_between(s, h, color=RULE)
    axes.plot([s[0], *s, s[-1]], [0, *h, 0], color=INK, linewidth=1.2)
    label = f"even brace that gives as much in the middle: {even:.{places}f} {words}"
    axes.axhline(even, color=ACCENT, linestyle="--", label=label)
    axes.set_ylim(0, 1.35 * float(h.max()))
    axes.set_xlim(0, float(s[-1]))
    section = next((name for key, name in SECTIONS.items() if key == brace.section), brace.section)
    stiff = f"E I at its highest {brace.stiffness_n_mm2 / 1e6:.2f} N m²"
    size = f"{section}, {brace.width_mm * per_mm:.{places}f} x {brace.height_mm * per_mm:.{places}f} {words}"
    axes.set_title(f"{title}\n", loc="left", color=INK, fontweight="bold")
    axes.text(
        0, 1.03, f"{size}; {stiff}; {brace.weight_g:.1f} g", transform=axes.transAxes, color=INK_2, fontsize=9
    )
    axes.legend(frameon=True, facecolor="white", edgecolor="white", framealpha=1.0, loc="upper right")
    return figure
