"""Where the clamps stand on a pair, and how far their pressure reaches: on the page, and to take away."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from seamlight.seam import Bench, GlueUp
from seamlight.seam.clamping import clamp_places
from seamlight.seam.places import place_words
from seamlight.units import Unit
from seamlight.web.chart_files import ACCENT, INK, INK_2, new_chart
from seamlight.web.curves import WIDE
from seamlight.web.seam_charts import PER_MM, SHORT

Point = tuple[float, float]
OVER_MM = 22.0  # of a clamp beyond the outer edges, as drawn


@dataclass(frozen=True)
class Clamp:
    """One clamp: its place from the neck end, over or under the leaves, how far its pressure spreads."""

    at_mm: float
    over: bool
    cones: tuple[tuple[Point, ...], ...]  # mm; from each outer edge to the joint (y = 0)


@dataclass(frozen=True)
class ClampPlan:
    """The pair laid flat: x from the neck end, y from the joint, mm."""

    length_mm: float
    width_mm: float
    clamps: tuple[Clamp, ...]
    each_n: float  # the force of each
    says: str

    @property
    def per_mm(self) -> float:
        """Units of the page's drawing for each mm."""
        return WIDE / self.length_mm

    @property
    def high(self) -> float:
        """Of the page's drawing, both leaves and the clamps' ends."""
        return 2 * (self.width_mm + OVER_MM) * self.per_mm

    def points(self, corners: tuple[Point, ...]) -> str:
        """Corners in mm as the page's drawing has them."""
        middle = self.high / 2
        return " ".join(f"{x * self.per_mm:.1f},{middle + y * self.per_mm:.1f}" for x, y in corners)


def clamp_plan(glue: GlueUp, bench: Bench, length_mm: float, unit: Unit) -> ClampPlan:
    """Clamps evenly along the joint, alternately over and under, so that the leaves stay flat.

    A clamp's pressure spreads at about 45 degrees from its pad (common practice, no source).
    """
    wide = bench.width_mm
    clamps = []
    for number, at in enumerate(clamp_places(glue.clamps, length_mm)):
        cones = tuple(_cone(at, side * wide, length_mm) for side in (-1.0, 1.0))
        clamps.append(Clamp(at, number % 2 == 1, cones))
    low, high = glue.wanted.force_low_n, glue.wanted.force_high_n
    places = ", ".join(place_words(one.at_mm, unit).removesuffix(f" {SHORT[unit]}") for one in clamps)
    says = (
        f"{glue.clamps} clamps, {places} {SHORT[unit]} from the neck end, by turns under and over;"
        f" {low / glue.clamps:.0f} to {high / glue.clamps:.0f} N each"
    )
    return ClampPlan(length_mm, wide, tuple(clamps), low / glue.clamps, says)


def _cone(at_mm: float, edge_mm: float, length_mm: float) -> tuple[Point, ...]:
    """From the pad at the outer edge to the joint, 45 degrees to either side, cut off at the leaf's ends."""
    wide, side = abs(edge_mm), 1.0 if edge_mm > 0 else -1.0
    corners: list[Point] = [(at_mm, edge_mm)]
    for way, room in ((-1.0, at_mm), (1.0, length_mm - at_mm)):
        run = min(wide, room)
        end = [(at_mm + way * run, side * (wide - run)), (at_mm + way * run, 0.0)]
        corners += end if way < 0 else end[::-1]
    return tuple(corners)


def clamps_chart(title: str, plan: ClampPlan, unit: Unit) -> Figure:
    """The same to take away, at one scale along and across."""
    per_mm = PER_MM[unit]
    long, wide = plan.length_mm * per_mm, plan.width_mm * per_mm
    across = f"from the joint, {SHORT[unit]}"
    figure, axes = new_chart(title, f"from the neck end, {SHORT[unit]}", across, size_in=(9.0, 7.6))
    axes.add_patch(Rectangle((0.0, -wide), long, 2 * wide, facecolor="none", edgecolor=INK, linewidth=1.2))
    axes.plot([0.0, long], [0.0, 0.0], color=INK, linewidth=2.4)
    for clamp in plan.clamps:
        for cone in clamp.cones:
            corners = [(x * per_mm, y * per_mm) for x, y in cone]
            axes.add_patch(Polygon(corners, closed=True, facecolor=ACCENT, alpha=0.18, edgecolor="none"))
        at, end = clamp.at_mm * per_mm, (plan.width_mm + OVER_MM) * per_mm
        axes.plot([at, at], [-end, end], "-" if clamp.over else "--", color=INK_2, linewidth=3.0)
        axes.text(at, wide * 0.96, "  over" if clamp.over else "  under", va="top", color=INK)
    axes.set_aspect("equal")
    axes.margins(0.02)
    axes.set_title(title + "\n" + plan.says, loc="left", color=INK, fontsize=11)
    return figure
