"""Setting out by the printed figures gives back the joint line and the outline."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from painted import LENGTH, WIDTH1, WIDTH2, body, placing
from shapely.geometry import LineString, Point, Polygon

from seamlight.layout.opening import Layout
from seamlight.sheets.measures import LeafMeasures, bouts, datum_of, measure_leaf
from seamlight.sheets.pose import pose_of
from seamlight.sheets.setting_out import set_out

PRINTED_MM = 1  # decimals on the sheet


def printed(value: float) -> float:
    """What the sheet says, read back."""
    return float(f"{value:.{PRINTED_MM}f}")


def ruled_joint(m: LeafMeasures) -> LineString:
    """The joint line as ruled through the two marks, far beyond both ends."""
    p, q = (m.datum.place(printed(s.along_mm), printed(s.in_mm)) for s in m.stations)
    return LineString([p - (q - p), q + (q - p)])


@pytest.mark.parametrize("n", range(4))
def test_printed_figures_give_the_joint_line_within_a_tenth(layout: Layout, n: int) -> None:
    plan = set_out(layout, layout.openings[n])
    for leaf, place in ((plan.a, layout.openings[n].a), (plan.b, layout.openings[n].b)):
        ruled = ruled_joint(leaf.measures)
        assert max(ruled.distance(Point(p)) for p in place.joint_line_mm) < 0.1


@pytest.mark.parametrize("n", range(4))
def test_printed_figures_give_the_outline_within_a_tenth(layout: Layout, n: int) -> None:
    opening = layout.openings[n]
    plan = set_out(layout, opening)
    for leaf, place in ((plan.a, opening.a), (plan.b, opening.b)):
        m = leaf.measures
        ruled = ruled_joint(m)
        neck, tail = (
            np.asarray(
                ruled.intersection(
                    LineString([m.datum.place(printed(s), -50), m.datum.place(printed(s), 250)])
                ).coords[0]
            )
            for s in (m.neck_along_mm, m.tail_along_mm)
        )
        down = (tail - neck) / np.linalg.norm(tail - neck)
        out = np.array([down[1], -down[0]])
        out = out if out @ m.datum.inward > 0 else -out
        edge = LineString(place.outline_mm)
        assert edge.distance(Point(neck)) < 0.1
        assert edge.distance(Point(tail)) < 0.1
        for bout in m.bouts:
            mark = neck + printed(bout.from_neck_mm) * down + printed(bout.half_mm) * out
            assert edge.distance(Point(mark)) < 0.1, bout.name


@pytest.mark.parametrize("n", range(4))
def test_both_checks_add_up_to_the_width(layout: Layout, n: int) -> None:
    plan = set_out(layout, layout.openings[n])
    for leaf in (plan.a, plan.b):
        for station in leaf.measures.stations:
            width = WIDTH1 - (WIDTH1 - WIDTH2) * station.along_mm / LENGTH
            # measured square to the joint edge, which leans by half the leaf's taper at most
            assert station.in_mm + station.from_other_mm == pytest.approx(width, abs=0.1)


def test_inch_rule_gets_whole_inches(layout: Layout) -> None:
    plan = set_out(layout, layout.openings[0], "inch")
    for station in plan.a.measures.stations:
        assert station.along_mm / 25.4 == pytest.approx(round(station.along_mm / 25.4))


def test_straight_edge_rests_on_the_two_high_points_of_a_rough_edge() -> None:
    rough = np.array(
        [[3, 0], [200, 5], [201, 300], [199, 555], [4, 560], [0, 450], [6, 280], [1, 90]], dtype=float
    )
    datum = datum_of(rough, "left")
    for touched in ([0, 450], [1, 90]):
        assert datum.read(np.array(touched, dtype=float))[1] == pytest.approx(0, abs=1e-9)
    assert min(datum.read(p)[1] for p in rough) > -1e-9  # nothing lies beyond the straight-edge


@settings(max_examples=40, deadline=None)
@given(
    tilt=st.floats(-2, 2),
    planing=st.floats(1, 12),
    shift=st.floats(-15, 15),
    edge=st.sampled_from(["left", "right"]),
    neck_end=st.sampled_from([1, 2]),
    taper=st.floats(-12, 12),
)
def test_any_placing_is_given_back(
    tilt: float, planing: float, shift: float, edge: str, neck_end: int, taper: float
) -> None:
    leaf = np.array([[0, 0], [215, 0], [215 - taper, 560], [taper, 560]], dtype=float)
    outline = body()
    angle = np.radians(tilt)
    along = np.array([np.sin(angle), np.cos(angle)])
    down = along if neck_end == 1 else -along
    out = np.array([along[1], -along[0]]) * (-1 if edge == "right" else 1)
    middle = np.array([215 - taper / 2 - planing if edge == "right" else taper / 2 + planing, 280 + shift])
    place = placing(outline, middle - down * 254, down, out, 6.0)
    half = "left" if (edge == "right") == (neck_end == 1) else "right"
    pose = pose_of(place, half, 508.0)
    m = measure_leaf(leaf, place, pose, outline)
    assert m.datum.side == edge
    assert m.neck_end == neck_end
    ruled = ruled_joint(m)
    assert max(ruled.distance(Point(p)) for p in place.joint_line_mm) < 0.1
    assert m.datum.place(m.neck_along_mm, 0) @ along == pytest.approx(
        (middle - down * 254 - m.datum.inward * ((middle - down * 254 - m.datum.corner_mm) @ m.datum.inward))
        @ along
    )


def test_bouts_lie_on_the_outline(layout: Layout) -> None:
    area = Polygon(layout.outline.half_mm)
    found = bouts(layout.outline, "right")
    assert [b.name for b in found] == ["upper bout", "waist", "lower bout"]
    for bout in found:
        assert area.exterior.distance(Point(bout.half_mm, bout.from_neck_mm)) < 0.05
    assert found[1].half_mm < min(found[0].half_mm, found[2].half_mm)
