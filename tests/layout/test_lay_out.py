"""A whole layout: frames, halves, both faces, leaf B, slip-match, flaws a person is not sure of."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from seamlight.layout.by_hand import place_by_hand, placing_by_hand
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.openings import half_of, lay_out, mirrored
from seamlight.layout.pair import Leaf, Registration
from seamlight.outline import named

sys.path.insert(0, str(Path(__file__).parent))
from cases import graded_field, laid, plain_leaf, rectangle, round_flaw

PARLOUR = named("parlour")
KNOTTY = plain_leaf(190, 500, [round_flaw(150, 90, 7)], graded_field(190, 500, 20, 12))


def test_halves_as_the_contract_says() -> None:
    assert half_of("right", 1, "sawn") == "left"
    assert half_of("left", 2, "sawn") == "left"
    assert half_of("left", 1, "sawn") == "right"
    assert half_of("right", 2, "sawn") == "right"
    assert half_of("right", 1, "other") == "right"


def test_the_mirror_stands_in_for_leaf_b() -> None:
    layout = laid(KNOTTY, PARLOUR)
    assert any("mirror stands in" in warning for warning in layout.warnings)
    for one in layout.openings:
        b = np.asarray(one.b.outline_mm) * (-1, 1) + (190, 0)
        assert np.allclose(b, one.a.outline_mm)
        assert one.a.planing_most_mm == pytest.approx(one.b.planing_most_mm)


def test_a_mirror_that_stands_in_is_known_as_such() -> None:
    assert laid(KNOTTY, PARLOUR).stands_in
    assert not lay_out(KNOTTY, mirrored(KNOTTY), Registration(0.9), PARLOUR, LayoutSettings()).stands_in


@pytest.mark.parametrize(("slide_mm", "points"), [(0.0, 15.0), (None, 7.5)])
def test_a_figure_that_was_not_read_gives_half_its_points(slide_mm: float | None, points: float) -> None:
    a, registration = plain_leaf(190, 500), Registration(0.13, slide_mm=slide_mm)
    layout = lay_out(a, mirrored(a), registration, PARLOUR, LayoutSettings(), smaller=())
    for one in layout.openings:
        (words,) = (text for name, _, text in one.parts if name == "figure at the seam")
        assert f"({points:.1f} of 15)" in words
        assert ("not read: nothing says where" in words) == (slide_mm is None)
        assert ("0.0 mm from where its figure meets" in words) == (slide_mm is not None)
        assert one.slide_mm == 0
        hand = placing_by_hand(one, a, layout.b, registration, PARLOUR, LayoutSettings())
        assert place_by_hand(a, layout.b, registration, PARLOUR, LayoutSettings(), hand).score == one.score


def test_openings_stand_best_first_and_parts_add_up() -> None:
    openings = laid(KNOTTY, PARLOUR).openings
    assert {(o.joint_edge, o.neck_end) for o in openings} == {
        ("left", 1),
        ("left", 2),
        ("right", 1),
        ("right", 2),
    }
    scores = [o.score for o in openings]
    assert scores == sorted(scores, reverse=True)
    for one in openings:
        assert sum(points for _, points, _ in one.parts) == pytest.approx(one.score, abs=1e-9)


def test_other_faces_make_four_more_with_halves_swapped() -> None:
    layout = lay_out(KNOTTY, None, None, PARLOUR, LayoutSettings(), other_faces=True, smaller=())
    assert len(layout.openings) == 8
    for one in (o for o in layout.openings if o.show_face == "other"):
        (twin,) = (
            o
            for o in layout.openings
            if o.show_face == "sawn" and (o.joint_edge, o.neck_end) == (one.joint_edge, one.neck_end)
        )
        assert np.array_equal(one.a.joint_line_mm, twin.a.joint_line_mm)
        assert {one.a_is, twin.a_is} == {"left", "right"}


def test_a_flaw_of_the_other_face_counts() -> None:
    knot = round_flaw(95, 400, 12)
    clean, through = plain_leaf(190, 500), replace(plain_leaf(190, 500), other_flaws=(knot,))
    assert all(not o.flaws_inside for o in laid(clean, PARLOUR).openings)
    struck = laid(through, PARLOUR).openings[-1]
    assert any(f.zone == "open" for f in struck.flaws_inside)
    assert any("on the other face" in reason for reason in struck.reasons)


def test_an_unsure_flaw_is_mentioned_and_blocks_nothing() -> None:
    unsure = plain_leaf(190, 500, [round_flaw(95, 400, 12, sure=0.3)])
    one = laid(unsure, PARLOUR).openings[0]
    assert one.score == pytest.approx(laid(plain_leaf(190, 500), PARLOUR).openings[0].score)
    for opening in laid(unsure, PARLOUR).openings:
        assert all("it was not counted" in r for r in opening.reasons if "knot" in r)


def test_wane_takes_from_the_sound_wood() -> None:
    from seamlight.grain.flaw import Flaw

    wane = Flaw("wane", np.array([[160.0, -1], [191, -1], [191, 501], [160, 501]]), 0.9)
    bare, waney = laid(plain_leaf(190, 500), PARLOUR), laid(plain_leaf(190, 500, [wane]), PARLOUR)
    assert bare.openings[0].fits
    # computed: 160 - 1 - (168.5 + 3)
    assert waney.openings[0].spare_mm == pytest.approx(-12.5, abs=0.02)


def test_a_hole_at_the_outline_blocks_and_in_the_soundhole_does_not() -> None:
    tight = plain_leaf(173, 476, [round_flaw(169.5, 354, 4, "hole")])
    one = next(o for o in laid(tight, PARLOUR).openings if (o.joint_edge, o.neck_end) == ("left", 1))
    assert not one.fits
    inside = plain_leaf(173, 476, [round_flaw(15, 166, 6, "hole")])
    one = next(o for o in laid(inside, PARLOUR).openings if (o.joint_edge, o.neck_end) == ("left", 1))
    assert one.fits
    assert {f.zone for f in one.flaws_inside} == {"soundhole"}


def test_registration_carries_the_joint_line_to_leaf_b() -> None:
    a, b = plain_leaf(200, 520), Leaf(rectangle(204, 515))
    laid_b = Registration(0.9, slide_mm=2.0, across_mm=1.5, rotate_deg=0.2)
    layout = lay_out(a, b, laid_b, PARLOUR, LayoutSettings(), smaller=())
    one = layout.openings[0]
    lengths = [np.hypot(*(p.joint_line_mm[1] - p.joint_line_mm[0])) for p in (one.a, one.b)]
    assert lengths == pytest.approx([464 + 12] * 2)
    assert one.slide_mm == pytest.approx(2.0)  # nothing asks for another


def test_slip_match_uses_the_opposite_edges() -> None:
    layout = laid(KNOTTY, PARLOUR, match="slip")
    for one in layout.openings:
        a, b = np.asarray(one.a.joint_line_mm), np.asarray(one.b.joint_line_mm)
        left = one.joint_edge == "left"
        assert (a[:, 0].mean() < 95) == left
        # B's photographed face is the mirror of what shows: its joint is on the same side of its own picture
        assert (b[:, 0].mean() < 95) == left


def test_a_mirrored_leaf_twice_is_itself() -> None:
    twice = mirrored(mirrored(KNOTTY))
    assert np.allclose(twice.outline_mm, KNOTTY.outline_mm)
    assert np.allclose(twice.field.spacing_mm, KNOTTY.field.spacing_mm)  # type: ignore[union-attr]


def test_no_pair_is_said() -> None:
    unlike = Registration(0.2, slide_mm=None, across_mm=None, rotate_deg=None)
    layout = lay_out(
        plain_leaf(190, 500), plain_leaf(190, 500), unlike, PARLOUR, LayoutSettings(), smaller=()
    )
    assert any("hardly a pair" in warning for warning in layout.warnings)


def test_marginal_within_the_scales_error() -> None:
    leaf = replace(plain_leaf(173, 500), scale_error_mm=0.8)
    one = laid(leaf, PARLOUR).openings[0]
    assert one.fits
    assert one.marginal
    assert not laid(replace(leaf, scale_error_mm=0.1), PARLOUR).openings[0].marginal
