"""The line to saw for a rig with wedges: its angle, what it clears, the wood it runs on."""

from dataclasses import replace

import numpy as np
import pytest
from painted import painted_layout
from shapely.geometry import LineString, Polygon

from seamlight.layout.opening import Remedy
from seamlight.sheets.halves import halves
from seamlight.sheets.opened import grown_outline
from seamlight.sheets.setting_out import set_out
from seamlight.sheets.steps import rows
from seamlight.sheets.wedge import wedge_lines


@pytest.mark.parametrize("angle", [0.5, 1.0])
@pytest.mark.parametrize("n", range(3))
def test_line_is_at_the_angle_clear_of_the_outline_and_on_wood(angle: float, n: int) -> None:
    layout = painted_layout(wedge_angle_deg=angle)
    plan = set_out(layout, layout.openings[n])
    for leaf in (plan.a, plan.b):
        line = leaf.wedge
        assert line is not None
        assert line.good
        (x0, y0), (x1, y1) = line.points(508.0, 6.0)
        assert abs(np.degrees(np.arctan2(x1 - x0, y1 - y0))) == pytest.approx(angle)
        drawn = LineString([(x0, y0), (x1, y1)])
        trimmed = Polygon(leaf.half.outline.buffer(0).exterior).buffer(0)
        assert drawn.distance(trimmed) >= layout.settings.trim_mm
        assert leaf.half.sound().buffer(1e-6).contains(drawn)


def test_both_leaves_narrow_toward_the_same_end() -> None:
    layout = painted_layout(wedge_angle_deg=1.0)
    for opening in layout.openings:
        plan = set_out(layout, opening)
        slopes = [x.wedge.at_tail_mm - x.wedge.at_neck_mm for x in (plan.a, plan.b) if x.wedge]
        assert slopes[0] * slopes[1] > 0


def test_too_steep_a_wedge_is_said_not_drawn_into_the_outline() -> None:
    layout = painted_layout(wedge_angle_deg=6.0)
    opening = layout.openings[0]
    pair = halves(layout, opening)
    needed = tuple(grown_outline(h, 3, 6) for h in pair)
    for half, line, area in zip(pair, wedge_lines(pair, needed, 6.0, 6.0), needed, strict=True):
        assert not line.good
        assert LineString(line.points(508.0, 6.0)).intersection(area.buffer(-1e-6)).length == 0
        assert line.gaps
        assert half.wood.bounds[2] < line.at_neck_mm or half.wood.bounds[2] < line.at_tail_mm
    said = " ".join(" ".join(row) for row in rows(set_out(layout, opening), "mm"))
    assert "no sound wood there" in said or "cannot be had" in said


def test_wing_stock_is_kept() -> None:
    layout = painted_layout(lower=208.0, wedge_angle_deg=1.0)
    opening = layout.openings[-1]
    assert not opening.fits
    plan = set_out(layout, opening)
    for leaf in (plan.a, plan.b):
        stock = leaf.wing_stock
        assert stock is not None
        assert leaf.half.sound().buffer(1e-6).contains(stock)
        assert stock.distance(leaf.half.outline) > 0.7 * layout.settings.trim_mm
        assert stock.area == pytest.approx(19 * (stock.bounds[3] - stock.bounds[1]))
        assert stock.bounds[3] - stock.bounds[1] >= 110
        assert leaf.wedge is not None
        line = LineString(leaf.wedge.points(508.0))
        assert line.intersection(stock.buffer(-1e-6)).length == 0


def test_no_wing_stock_where_the_wood_is_nowhere_wide_enough() -> None:
    layout = painted_layout(lower=208.0)
    opening = layout.openings[-1]
    wide = Remedy("lower-bout wings", "wide", (("width_mm", 90.0), ("length_mm", 110.0)))
    assert set_out(layout, replace(opening, remedies=(wide,))).a.wing_stock is None
    assert set_out(layout, replace(opening, remedies=())).a.wing_stock is None
