"""Tape on sound wood, a label on waste."""

from dataclasses import replace

import pytest
from painted import disc, painted_layout
from shapely.geometry import Point, box
from shapely.ops import unary_union

from seamlight.grain.flaw import Flaw
from seamlight.layout.opening import Layout
from seamlight.sheets.places import TAPE_REACH_MM, TAPE_WIDE_MM
from seamlight.sheets.setting_out import set_out


@pytest.mark.parametrize("n", range(4))
def test_tape_lies_on_no_flaw_and_on_both_leaves(layout: Layout, n: int) -> None:
    plan = set_out(layout, layout.openings[n])
    assert len(plan.tape_mm) == 5
    for y in plan.tape_mm:
        strip = box(0, y - TAPE_WIDE_MM / 2, TAPE_REACH_MM, y + TAPE_WIDE_MM / 2)
        for leaf in (plan.a, plan.b):
            assert not any(strip.intersects(area) for _, area in leaf.half.flaws)
            bottom, top = leaf.half.wood.bounds[1::2]
            assert bottom < y - TAPE_WIDE_MM / 2
            assert y + TAPE_WIDE_MM / 2 < top


def test_no_tape_over_a_seam_full_of_cracks() -> None:
    layout = painted_layout()
    crack = Flaw("crack", disc(205.0, 280.0, 12.0, 275.0), 1.0)
    cracked = replace(layout, a=replace(layout.a, flaws=(crack,)))
    right = next(o for o in cracked.openings if o.joint_edge == "right")
    assert set_out(cracked, right).tape_mm == ()


@pytest.mark.parametrize("n", range(3))
def test_label_lies_on_waste_that_is_not_sawn_off(n: int) -> None:
    layout = painted_layout(wedge_angle_deg=1.0)
    plan = set_out(layout, layout.openings[n])
    for leaf in (plan.a, plan.b):
        assert leaf.label is not None
        spot = Point(leaf.label.out_mm, leaf.label.from_neck_mm).buffer(leaf.label.radius_mm * 0.97)
        assert leaf.half.outline.distance(spot) >= layout.settings.trim_mm * 0.99
        assert leaf.half.wood.contains(spot)
        assert not unary_union([a for _, a in leaf.half.flaws]).intersects(spot)
