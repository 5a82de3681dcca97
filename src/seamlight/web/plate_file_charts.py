"""The charts of a plate's page drawn for files: spectrum, modes, cloud of past plates, thickness map."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from seamlight.plate import TapDocument
from seamlight.plate.named import Name
from seamlight.plate.piece import Piece
from seamlight.plate.places import hold_and_tap
from seamlight.plate.ritz import RitzMode
from seamlight.plate.thickness_map import Readings, surface
from seamlight.shop.plate_bench import PastPlate
from seamlight.shop.plate_documents import ThicknessDocument
from seamlight.web.chart_files import ACCENT, INK, INK_2, RULE, WARN, new_chart

PeakLine = tuple[float, float, str]  # Hz, dB, name of its mode or ""
_LEAST_DB = -60.0


def spectrum_figure(title: str, curve: Sequence[tuple[float, float]], peaks: Sequence[PeakLine]) -> Figure:
    """A spectrum, Hz and dB, with its named peaks."""
    figure, axes = new_chart(title, "Hz", "dB")
    named = [hz for hz, _, name in peaks if name]
    heard = named or [hz for hz, _, _ in peaks] or [hz for hz, _ in curve]
    low, high = min(heard) / 1.8, max(max(heard) * 2.2, min(heard) * 5)
    axes.set_xscale("log")
    axes.set_xlim(low, min(high, curve[-1][0]))
    axes.set_ylim(_LEAST_DB, 16)
    axes.plot([hz for hz, _ in curve], [db for _, db in curve], color=ACCENT, linewidth=1.2)
    inside = [(hz, _top(curve, hz, db), name) for hz, db, name in peaks if low <= hz <= high]
    for number, (hz, db, name) in enumerate([one for one in inside if one[2]]):
        axes.plot([hz, hz], [db, 3 + 4 * (number % 3)], color=INK_2, linewidth=0.7)
        axes.text(hz, 3.4 + 4 * (number % 3), f" {name} {hz:.1f} Hz", color=INK, fontsize=9)
    others = [one for one in inside if not one[2]]
    axes.plot([one[0] for one in others], [one[1] for one in others], "o", color=WARN, fillstyle="none")
    ticks = [hz for hz in (10, 20, 30, 50, 70, 100, 150, 200, 300, 500, 700, 1000, 2000) if low < hz < high]
    axes.set_xticks(ticks, [str(hz) for hz in ticks])
    axes.minorticks_off()
    return figure


def _top(curve: Sequence[tuple[float, float]], hz: float, otherwise_db: float) -> float:
    """The drawn line's top at a peak."""
    return max((db for at, db in curve if abs(at / hz - 1) < 0.01), default=otherwise_db)


def modes_figure(
    title: str, piece: Piece, modes: Mapping[Name, RitzMode], heard_hz: Mapping[str, float]
) -> Figure:
    """The plate drawn once a mode, grain upright: still lines, where to hold and where to tap."""
    figure = Figure(figsize=(8.0, 6.0), layout="constrained", facecolor="white")
    figure.suptitle(title, color=INK, fontweight="bold", x=0.02, ha="left")
    wide = (piece.width1_mm + piece.width2_mm) / 2
    along, across = np.linspace(0, 1, 81), np.linspace(0, 1, 41)
    for axes, (name, mode) in zip(figure.subplots(1, len(modes)), modes.items(), strict=True):
        told, shape = hold_and_tap(name, mode), mode.shape(along, across)
        axes.contourf(across * wide, along * piece.length_mm, shape, levels=[0, 1e9], colors=[RULE])
        axes.contour(
            across * wide, along * piece.length_mm, shape, levels=[0.0], colors=[ACCENT], linestyles="dashed"
        )
        for x, y in told.hold:
            axes.plot(y * wide, x * piece.length_mm, "o", markersize=11, fillstyle="none", color=INK)
        axes.plot(told.tap[1] * wide, told.tap[0] * piece.length_mm, "x", markersize=11, color=WARN)
        axes.add_patch(Rectangle((0, 0), wide, piece.length_mm, fill=False, edgecolor=INK))
        axes.set_aspect("equal")
        axes.set_axis_off()
        hz = f", {heard_hz[name]:.1f} Hz" if name in heard_hz else ""
        axes.set_title(f"{name}{hz}", color=INK)
    figure.supxlabel(
        "Dashed: stays still. Rings: hold. Cross: tap. Shaded: moves the other way.", color=INK_2, fontsize=9
    )
    return figure


def cloud_figure(title: str, document: TapDocument, past: Sequence[PastPlate]) -> Figure:
    """This plate (a square) among the shop's by density and E along, the species' range shaded."""
    figure, axes = new_chart(title, "density, kg/m³", "E along, GPa", size_in=(7.0, 5.0))
    beside = {row.what.split(",")[0]: row for row in document.beside}
    e, density = beside.get("E along"), beside.get("density")
    if e is not None and density is not None:
        size = density.high - density.low, (e.high - e.low) / 1000
        band = Rectangle(
            (density.low, e.low / 1000), *size, color=RULE, alpha=0.6, label="two of three boards"
        )
        axes.add_patch(band)
    axes.plot(
        [one.density_kg_m3 for one in past], [one.e_along_mpa / 1000 for one in past],
        "o", fillstyle="none", color=ACCENT, label="past plates",
    )  # fmt: skip
    axes.plot(
        [document.density_kg_m3 or 0], [(document.e_along_mpa or 0) / 1000], "s", color=INK, label="this one"
    )
    axes.margins(0.15)
    axes.legend(frameon=False)
    return figure


def map_figure(title: str, document: ThicknessDocument, per_mm: float, unit: str) -> Figure:
    """What is left over the target, neck end on top, a figure at each reading.

    Args:
        per_mm: the unit's figures in a mm.
    """
    figure, axes = new_chart(title, f"across, {unit}", f"along, {unit}", size_in=(6.0, 8.0))
    table = np.array(document.readings, dtype=np.float64)
    left = np.array(document.left_mm, dtype=np.float64)
    along, across = np.linspace(0, document.length_mm, 57), np.linspace(0, document.width_mm, 29)
    values = surface(Readings(table[:, :2], table[:, 2]), left, along, across)
    levels = [-1e3, -0.05, 0.05, 0.3, 0.8, 1e3]
    shades = ["#ffffff", "#efe9dc", "#ddd3bf", "#c4b69b", "#a79473"]
    axes.contourf(across * per_mm, along * per_mm, values, levels=levels, colors=shades)
    under = np.where(values < -0.05, 1.0, np.nan)
    axes.contourf(across * per_mm, along * per_mm, under, levels=[0.5, 1.5], colors="none", hatches=["///"])
    for (x, y, _), over in zip(document.readings, left, strict=True):
        text = f"{over * per_mm:.{2 if unit == 'mm' else 3}f}"
        axes.text(y * per_mm, x * per_mm, text, ha="center", va="center", color=INK, fontsize=9)
    axes.set_aspect("equal")
    axes.invert_yaxis()
    axes.grid(visible=False)
    return figure
