"""From the documents to what a grade rests on."""

from typing import Any

import pytest

from seamlight.layout.document import LayoutDocument
from seamlight.shop.grade_facts import facts_of, flaws_of

HALF = [(100.0, 0.0), (200.0, 0.0), (200.0, 400.0), (100.0, 400.0)]


def square(x: float, y: float, size: float) -> list[tuple[float, float]]:
    return [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]


def flaw(x: float, y: float, size: float, sure: float = 1.0, kind: str = "knot") -> dict[str, Any]:
    return {"kind": kind, "outline_mm": square(x, y, size), "box_px": (0, 0, 1, 1), "sure": sure}


def opening(**changes: Any) -> dict[str, Any]:
    placing = {
        "joint_line_mm": [(100.0, 0.0), (100.0, 400.0)],
        "outline_mm": HALF,
        "planing_mm": {"end1": 1, "end2": 1, "most": 1},
    }
    return {
        "joint_edge": "left",
        "neck_end": 1,
        "show_face": "sawn",
        "a_is": "right",
        "fits": True,
        "marginal": False,
        "score": 80,
        "score_parts": [],
        "reasons": [],
        "leaves": {"a": placing, "b": placing},
        "joint_tilt_deg": 0,
        "slide_mm": 0,
        "spare_mm": 4,
        "end_spare_mm": 4,
        "joint_room_mm": 4,
        "short": [],
        "flaws_inside": [],
        "grain": {
            "tilt_deg": -0.4,
            "spread_deg": 0.6,
            "lines_per_inch": {"joint": 24, "middle": 20, "edge": 16},
            "ring_to_face_deg": 84,
        },
        "remedies": [],
        **changes,
    }


def document(openings: list[dict[str, Any]], a: list[dict[str, Any]]) -> LayoutDocument:
    return LayoutDocument.model_validate(
        {
            "schema": "seamlight/layout/1",
            "pair": {
                "match": 0.9,
                "b_shows": "sawn",
                "b_turned": False,
                "slide_mm": 0,
                "across_mm": 0,
                "rotate_deg": 0,
            },
            "flaws": {"a": a, "b": []},
            "outline": {
                "name": "parlour",
                "length_mm": 476,
                "upper_bout_mm": 250,
                "waist_mm": 210,
                "lower_bout_mm": 340,
            },
            "openings": openings,
        }
    )


def test_facts_are_of_the_chosen_opening() -> None:
    inside = [{"leaf": "a", "flaw": 0, "zone": "edge"}, {"leaf": "a", "flaw": 1, "zone": "open"}]
    layout = document(
        [opening(flaws_inside=inside)],
        [flaw(190, 50, 20), flaw(150, 200, 3, kind="pitch"), flaw(120, 300, 9)],
    )
    facts = facts_of(
        layout.openings[0], layout.flaws, "top", "parlour", contrast_pct=(-3.0, 5.0), runout_deg=1.5
    )
    assert facts.lines_per_inch == pytest.approx(20)
    assert facts.unevenness == pytest.approx(1.5)
    assert facts.tilt_deg == pytest.approx(0.4)
    assert facts.two_tone_pct == pytest.approx(5.0)
    assert facts.runout_deg == pytest.approx(1.5)
    assert facts.flaws is not None
    assert [(f.kind, f.zone) for f in facts.flaws] == [("knot", "edge"), ("pitch", "open")]
    # only the half of the knot that lies inside counts: 10 by 20 mm
    assert facts.flaws[0].size_mm == pytest.approx((10**2 + 20**2) ** 0.5)
    assert facts.flaws[1].size_mm == pytest.approx(3 * 2**0.5)


def test_an_unsure_flaw_counts_for_nothing() -> None:
    layout = document(
        [opening(flaws_inside=[{"leaf": "a", "flaw": 0, "zone": "open"}])], [flaw(150, 50, 5, sure=0.3)]
    )
    assert flaws_of(layout.openings[0], layout.flaws) == ()


def test_grain_not_read_stays_unknown() -> None:
    grain = {
        "tilt_deg": None,
        "spread_deg": None,
        "lines_per_inch": {"joint": None, "middle": None, "edge": None},
        "ring_to_face_deg": None,
    }
    layout = document([opening(grain=grain)], [])
    facts = facts_of(layout.openings[0], layout.flaws, "top", "parlour")
    assert facts.lines_per_inch is facts.unevenness is facts.spread_deg is facts.two_tone_pct is None
