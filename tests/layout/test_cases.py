"""The trade's problem cases of wood and layout. Figures marked "computed" are recomputed here; the rest is
common practice, no source."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from shapely import Point, Polygon
from shapely.affinity import translate

from seamlight.grain.flaw import Flaw
from seamlight.layout.body import half_body
from seamlight.layout.by_hand import HandPlacing, place_by_hand
from seamlight.layout.document import OpeningPart
from seamlight.layout.opening import Layout, LayoutSettings, Opening, Remedy
from seamlight.layout.openings import mirrored
from seamlight.layout.pair import Registration
from seamlight.layout.wings import offcut_of
from seamlight.outline.shape import Outline

sys.path.insert(0, str(Path(__file__).parent))
from cases import case_outlines, graded_field, laid, plain_leaf, round_flaw


@pytest.fixture(scope="module")
def outlines(shared_data: Path) -> dict[str, Outline]:
    return case_outlines(shared_data)


@pytest.fixture(scope="module")
def narrow(outlines: dict[str, Outline]) -> Layout:
    """Case 1: a leaf 190 wide for a half lower bout of 198.5, 3 mm off the joint edge."""
    return laid(plain_leaf(190, 560), outlines["dreadnought"], list(outlines.values()), joint_mm=3.0)


def remedies(opening: Opening, kind: str) -> list[Remedy]:
    return [r for r in opening.remedies if r.kind == kind]


def opening(layout: Layout, edge: str, end: int) -> Opening:
    return next(o for o in layout.openings if (o.joint_edge, o.neck_end) == (edge, end))


def test_case_1_short_by_how_much_and_where(narrow: Layout) -> None:
    # computed: 190 - 3 - (198.5 + 3)
    for one in narrow.openings:
        assert not one.fits
        assert one.spare_mm == pytest.approx(-14.5, abs=0.01)
        assert one.end_spare_mm >= 0
        for short in one.short:
            assert short.by_mm == pytest.approx(14.5, abs=0.01)
            assert short.from_mm == pytest.approx(308, abs=0.5)
            assert short.to_mm == pytest.approx(426, abs=0.5)
        assert {s.leaf for s in one.short} == {"a", "b"}


def test_case_1_smaller_outlines(narrow: Layout) -> None:
    # computed: 187 - (half lower bout + 3)
    found = {
        dict(r.figures)["outline"]: dict(r.figures)["spare_mm"]
        for r in remedies(narrow.openings[0], "smaller outline")
    }
    assert found == pytest.approx(
        {"concert": 4.5, "small concert": 12.5, "parlour": 15.5, "classical": -1.0}, abs=0.02
    )
    (classical,) = (r for r in narrow.openings[0].remedies if "classical" in r.text)
    assert "misses by 1.0 mm" in classical.text
    assert "trim is cut to 2.0" in classical.text


def test_case_1_wings_and_centre_strip(narrow: Layout, outlines: dict[str, Outline]) -> None:
    (wing,) = remedies(narrow.openings[0], "lower-bout wings")
    assert dict(wing.figures)["width_mm"] == 15 + 4
    assert dict(wing.figures)["length_mm"] == 150
    assert not remedies(narrow.openings[0], "centre strip")
    back = laid(plain_leaf(190, 560), outlines["dreadnought"], joint_mm=3.0, use="back")
    (strip,) = remedies(back.openings[0], "centre strip")
    assert dict(strip.figures)["width_mm"] == 29


def test_case_1_without_trim(outlines: dict[str, Outline]) -> None:
    # computed: 198.5 - 187
    without = laid(plain_leaf(190, 560), outlines["dreadnought"], joint_mm=3.0, trim_mm=0.0)
    assert without.openings[0].spare_mm == pytest.approx(-11.5, abs=0.01)


def test_case_2_where_wings_come_from(narrow: Layout, outlines: dict[str, Outline]) -> None:
    (wing,) = remedies(narrow.openings[0], "lower-bout wings")
    figures = dict(wing.figures)
    # computed: 187 - 3 - 136.5 beside the waist
    assert figures["offcut_widest_mm"] == pytest.approx(47.5, abs=0.1)
    assert "turned over or spun" in wing.text
    assert "lighter or darker" in wing.text
    assert "slide the same leaf's offcut down unturned" in wing.text
    # The offcut counts between the widest places of the bouts, where it is one piece that tapers to both
    # ends: 180 mm of it are wide enough. 215 mm reach 35 mm past the upper bout, where it turns away.
    half = outlines["dreadnought"].half_mm
    y = np.arange(0.0, 508.0, 0.05)
    width = np.interp(y, half[:, 1], half[:, 0])
    lower = y[np.argmax(width)]
    waist = y[np.argmin(np.where((y > 150) & (y < lower), width, np.inf))]
    upper = y[np.argmax(np.where(y < waist, width, 0))]
    between = (y > upper) & (y < lower)
    as_wide = 0.05 * np.count_nonzero(between & (184 - width >= 17))
    assert as_wide == pytest.approx(180.5, abs=1.0)
    body = half_body(outlines["dreadnought"], "right", LayoutSettings())
    room = 187 - 3 - body.strip_mm
    assert offcut_of(room, body, 17, 150).long_enough_mm == pytest.approx(as_wide, abs=1.0)
    # slid down unturned, the best 150 mm of it, to half a strip's slope at either end
    best = np.lib.stride_tricks.sliding_window_view((184 - width)[between], 3000).min(axis=1).max()
    assert figures["offcut_slid_width_mm"] == pytest.approx(best, abs=0.4)


def test_case_3_nearly(outlines: dict[str, Outline]) -> None:
    one = laid(plain_leaf(200, 560), outlines["dreadnought"], joint_mm=3.0).openings[0]
    assert one.spare_mm == pytest.approx(-4.5, abs=0.01)
    assert one.short[0].to_mm - one.short[0].from_mm == pytest.approx(66, abs=1.5)
    said = " ".join(one.reasons)
    assert "joint first, measure again, then decide" in said
    assert "planing 1 mm rather than 3 mm: short by 2.5 mm" in said
    assert "trim cut to 1 mm too: short by 0.5 mm" in said
    assert "outside of the binding" in said
    # the same by laying it out so
    assert laid(plain_leaf(200, 560), outlines["dreadnought"], joint_mm=1.0, trim_mm=1.0).openings[
        0
    ].spare_mm == pytest.approx(-0.5, abs=0.01)


def test_case_4_fits_without_freedom(outlines: dict[str, Outline]) -> None:
    one = laid(plain_leaf(205, 560), outlines["dreadnought"], joint_mm=3.0).openings[0]
    assert one.fits
    assert one.spare_mm == pytest.approx(0.5, abs=0.01)
    assert one.joint_room_mm == pytest.approx(0.5, abs=0.02)
    assert "no sideways freedom, no straightening of the grain" in one.reasons[0]


def clearance(outline: Outline, knot: Flaw, neck_mm: float) -> float:
    """How far the joint and the outline with it may move out until the program says that a knot lies inside.

    The leaf is 215 x 560, its joint on the left edge, 3 mm off; below 0: how far inside the knot lies.
    """
    leaf = plain_leaf(215, 560, [knot])
    sides = leaf, mirrored(leaf), Registration(1.0)

    def inside(moved_mm: float) -> bool:
        place = HandPlacing("left", 1, "sawn", 0.0, 3 + moved_mm - 215 / 2, neck_mm - 560 / 2, 0.0)
        judged = place_by_hand(*sides, outline, LayoutSettings(joint_mm=0.0), place)
        return any(found.leaf == "a" for found in judged.flaws_inside)

    low, high = -60.0, 120.0
    assert inside(high)
    assert not inside(low)
    while high - low > 0.02:
        middle = (low + high) / 2
        low, high = (low, middle) if inside(middle) else (middle, high)
    return (low + high) / 2


@pytest.mark.parametrize(
    ("along_mm", "clear_mm"),
    [(80, 49), (150, 44), (210, 51), (260, 41), (330, 6), (380, -10), (450, 3), (520, 90)],
)
def test_case_7_clearance_of_an_outer_knot(
    outlines: dict[str, Outline], along_mm: float, clear_mm: float
) -> None:
    # body centred lengthwise on 560; the near side of a knot 8 mm wide, 192 from the seam, on its middle line
    across = np.array([[191.0, -0.25], [199.0, -0.25], [199.0, 0.25], [191.0, 0.25]])
    on_the_line = Flaw("knot", across + np.array([0.0, along_mm]), 1.0)
    assert clearance(outlines["dreadnought"], on_the_line, 26) == pytest.approx(clear_mm, abs=1.0)
    # the round knot against Shapely: its outline moved square to the joint until it touches
    body = Polygon(np.vstack([outlines["dreadnought"].half_mm, [[-400, 508], [-400, 0]]]))
    disc = Point(192, along_mm - 26).buffer(4)
    away = next(mm for mm in np.arange(-40, 120, 0.05) if translate(body, mm).intersects(disc))
    measured = clearance(outlines["dreadnought"], round_flaw(195, along_mm, 8), 26)
    assert measured == pytest.approx(away, abs=0.3)


@pytest.mark.parametrize(("name", "clear_mm"), [("auditorium", -2.5), ("concert", 8.5)])
def test_case_7_smaller_bodies_at_the_knot(outlines: dict[str, Outline], name: str, clear_mm: float) -> None:
    # computed: 188 less the half lower bout, the widest place beside the knot
    half = outlines[name].half_mm
    neck = 380 - half[np.argmax(half[:, 0]), 1]
    assert clearance(outlines[name], round_flaw(195, 380, 8), neck) == pytest.approx(clear_mm, abs=0.1)


def test_case_7_open_by_the_other_edge_or_smaller(outlines: dict[str, Outline]) -> None:
    leaf = plain_leaf(215, 560, [round_flaw(195, 380, 8)])
    layout = laid(leaf, outlines["dreadnought"], list(outlines.values()), joint_mm=3.0)
    outer = opening(layout, "left", 1)
    assert outer.fits
    assert {f.zone for f in outer.flaws_inside} == {"open"}
    (other,) = remedies(outer, "open by the other edge")
    there = next(o for o in layout.openings if o.joint_edge == "right")
    assert there.end_spare_mm < there.spare_mm
    assert other.text == (
        f"open by the right edge, neck at end {there.neck_end}: fits with {there.end_spare_mm:.1f} mm to "
        f"spare at the ends, no flaw inside the outline"
    )
    neck_end = dict(other.figures)["neck_end"]
    assert (neck_end, type(neck_end)) == (there.neck_end, int)  # an end, not a length
    part = OpeningPart.of(outer).model_dump_json()
    assert f'"neck_end":{there.neck_end},"spare_mm":{round(there.spare_mm, 2)}' in part
    held = {
        dict(r.figures)["outline"]: dict(r.figures)["spare_mm"] for r in remedies(outer, "smaller outline")
    }
    assert "concert" in held  # the wide place no longer reaches the knot
    assert layout.openings[0].flaws_inside == ()


def test_case_8_knot_near_the_seam_falls_in_the_soundhole(outlines: dict[str, Outline]) -> None:
    # 20 mm from the joint edge after jointing; the hole's middle can be brought within 41 mm of it
    leaf = plain_leaf(215, 560, [round_flaw(23, 175, 8)])
    layout = laid(leaf, outlines["dreadnought"], joint_mm=3.0)
    here = opening(layout, "left", 1)
    assert {f.zone for f in here.flaws_inside} == {"soundhole"}
    assert len(here.flaws_inside) == 2
    neck = here.a.joint_line_mm[0] + 6 * np.array([0, 1])
    hole = outlines["dreadnought"].zones.soundhole_y_mm
    # computed: |dy| <= sqrt(46^2 - 20^2)
    assert abs(175 - neck[1] - hole) <= np.sqrt(46**2 - 20**2) + 1.5
    assert any("falls in the soundhole" in reason for reason in here.reasons)


def test_case_8_under_the_fingerboard_and_how_far_to_slide(outlines: dict[str, Outline]) -> None:
    board = laid(plain_leaf(204.6, 522, [round_flaw(23, 60, 8)]), outlines["dreadnought"], joint_mm=3.0)
    assert {f.zone for f in opening(board, "left", 1).flaws_inside} == {"fingerboard"}
    # more than the leaf's length allows
    open_one = laid(plain_leaf(204.6, 522, [round_flaw(30, 230, 8)]), outlines["dreadnought"], joint_mm=3.0)
    (slide,) = remedies(opening(open_one, "left", 1), "slide")
    figures = dict(slide.figures)
    assert figures["toward"] == "end 2"
    assert 20 < figures["along_mm"] < 60
    assert "more wood would be needed" in slide.text


def test_case_8_planed_out_costs_the_width(outlines: dict[str, Outline]) -> None:
    # computed: 20 + 8 mm off leaves 187
    out = laid(plain_leaf(215, 560), outlines["dreadnought"], joint_mm=28.0)
    assert out.openings[0].spare_mm == pytest.approx(-14.5, abs=0.01)


def test_case_9_under_the_bridge(outlines: dict[str, Outline]) -> None:
    leaf = plain_leaf(205, 522, [round_flaw(60, 297, 8)])
    here = opening(laid(leaf, outlines["dreadnought"], joint_mm=3.0), "left", 1)
    assert {f.zone for f in here.flaws_inside} == {"bridge"}
    said = " ".join(here.reasons)
    assert "pin holes" in said
    assert "grain still runs across the plate" in said


def test_case_10_nail_hole_above_the_soundhole(outlines: dict[str, Outline]) -> None:
    leaf = plain_leaf(205, 522, [round_flaw(20, 60, 5, "hole")])
    here = opening(laid(leaf, outlines["dreadnought"], joint_mm=3.0), "left", 1)
    assert here.fits
    assert {f.zone for f in here.flaws_inside} == {"fingerboard"}
    assert any("acceptable, best over a brace" in reason for reason in here.reasons)


def test_case_17_tight_edge_in(outlines: dict[str, Outline]) -> None:
    leaf = plain_leaf(215, 560, field=graded_field(215, 560, 22, 12))
    layout = laid(leaf, outlines["dreadnought"])
    assert layout.openings[0].joint_edge == "left"
    assert len(layout.openings) == 4
    assert layout.openings[0].grain.lpi_joint > layout.openings[0].grain.lpi_edge
    assert any("tight wood at the seam" in reason for reason in layout.openings[0].reasons)
    assert any("makers put the tight, quartered edge in" in r for r in opening(layout, "right", 1).reasons)


def test_case_20_too_short(outlines: dict[str, Outline]) -> None:
    one = laid(plain_leaf(215, 500), outlines["dreadnought"], list(outlines.values())).openings[0]
    assert not one.fits
    assert one.end_spare_mm == pytest.approx(-10, abs=0.01)  # computed: half of 508 + 12 - 500 at either end
    said = " ".join(one.reasons)
    assert "8 mm short for the body, 12 mm for its end trims" in said
    assert "the longest body that fits is 488 mm" in said
    assert [dict(r.figures)["outline"] for r in one.remedies] == ["classical", "small concert", "parlour"]


def test_case_22_wide_lines_at_the_outer_edge_only(outlines: dict[str, Outline]) -> None:
    field = graded_field(215, 560, 20, 9)
    one = opening(laid(plain_leaf(215, 560, field=field), outlines["dreadnought"]), "left", 1)
    assert one.fits
    assert one.grain.lpi_edge < 15
    assert any("a note for the grade, no reason to reject it" in reason for reason in one.reasons)
