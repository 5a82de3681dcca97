"""A place chosen by hand is judged as the search judges its own, and a kept leaf comes back the same."""

from __future__ import annotations

import json
import sys
from dataclasses import fields, replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seamlight.grain.reading import EndGrain, Thirds
from seamlight.layout.by_hand import HandPlacing, best_by_hand, place_by_hand, placing_by_hand
from seamlight.layout.by_hand_document import ROUNDED_MM, HandPlacingPart, opening_of_part
from seamlight.layout.document import OpeningPart
from seamlight.layout.leaf_file import leaf_bytes, leaf_from_bytes
from seamlight.layout.opening import Layout, LayoutSettings, Opening
from seamlight.layout.openings import lay_out, mirrored
from seamlight.layout.pair import Leaf, Registration
from seamlight.mistake import Mistake
from seamlight.outline import named
from seamlight.outline.shape import Outline, Zones

sys.path.insert(0, str(Path(__file__).parent))
from cases import graded_field, plain_leaf, round_flaw

PARLOUR = named("parlour")


def small_outline() -> Outline:
    y = np.linspace(0, 48, 49)
    half = np.vstack([[0.0, 0.0], np.column_stack([16 + 3 * np.sin(y / 8), y]), [0.0, 48.0]])
    left = np.vstack([[0.0, 0.0], np.column_stack([15 + 2 * np.sin(y / 8), y]), [0.0, 48.0]])
    return Outline("small", half, Zones(16, 8, 34, 6, 16, 5, 12, 2), left_half_mm=left)


def rough_leaf(rng: np.random.Generator) -> Leaf:
    """A small leaf with a slanting edge, and at random flaws and a grain field."""
    width, length = rng.uniform(20, 27), rng.uniform(49, 60)
    ring = np.array([[0, 0], [width, 0], [width, length], [0, length]]) + rng.normal(0, 0.5, (4, 2))
    ring -= ring.min(axis=0)
    kinds = rng.choice(["knot", "hole", "wane", "stain"], rng.integers(0, 3))
    flaws = [
        round_flaw(rng.uniform(0, width), rng.uniform(0, length), rng.uniform(1, 4), kind) for kind in kinds
    ]
    field = graded_field(width, length, rng.uniform(8, 24), rng.uniform(8, 24))
    tilted = replace(field, angle_deg=field.angle_deg + rng.normal(0, 1))
    return Leaf(ring, tuple(flaws), field=tilted if rng.random() < 0.8 else None, scale_error_mm=0.2)


def small_layout(seed: int) -> Layout:
    rng = np.random.default_rng(seed)
    chosen = LayoutSettings(
        use=rng.choice(["top", "back"]),
        match="slip" if rng.random() < 0.3 else "book",
        trim_mm=rng.choice([0.0, 1.0]),
        end_trim_mm=rng.choice([0.0, 1.3]),
        joint_mm=rng.choice([0.0, 0.7]),
        most_tilt_deg=0.2,
        most_slide_mm=1.0,
    )
    laid = Registration(0.9, slide_mm=0.3, across_mm=rng.normal(0, 0.5), rotate_deg=rng.normal(0, 0.2))
    if rng.random() < 0.3:
        laid = replace(laid, b_shows="other", b_turned=bool(rng.random() < 0.5))
    return lay_out(
        rough_leaf(rng), rough_leaf(rng), laid, small_outline(), chosen, rng.random() < 0.4, smaller=()
    )


def by_hand(layout: Layout, placing: HandPlacing) -> Opening:
    outline = small_outline() if layout.outline.name == "small" else PARLOUR
    return place_by_hand(layout.a, layout.b, layout.registration, outline, layout.settings, placing)


def placed(layout: Layout, opening: Opening) -> HandPlacing:
    outline = small_outline() if layout.outline.name == "small" else PARLOUR
    return placing_by_hand(opening, layout.a, layout.b, layout.registration, outline, layout.settings)


def tied(opening: Opening) -> bool:
    """Two places as short as each other to the last bit: either may be named as the worst."""
    short = sorted((s.by_mm for s in opening.short), reverse=True)
    return len(short) > 1 and short[0] - short[1] < 1e-9


slow = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


@slow
@given(seed=st.integers(0, 2**31))
def test_what_the_search_found_is_judged_the_same_by_hand(seed: int) -> None:
    layout = small_layout(seed)
    for found in layout.openings:
        placing = placed(layout, found)
        again = by_hand(layout, placing)
        assert (again.fits, again.marginal, again.a_is) == (found.fits, found.marginal, found.a_is)
        first = 1 if tied(found) else 0
        assert again.reasons[first:] == found.reasons[first:]
        assert again.score == pytest.approx(found.score, abs=1e-6)
        assert [p[0] for p in again.parts] == [p[0] for p in found.parts]
        for name in ("spare_mm", "end_spare_mm", "joint_room_mm", "slide_mm", "joint_tilt_deg"):
            assert getattr(again, name) == pytest.approx(getattr(found, name), abs=1e-6), name
        for one, other in ((again.a, found.a), (again.b, found.b)):
            assert np.allclose(one.outline_mm, other.outline_mm, atol=1e-6)
            assert one.planing_most_mm == pytest.approx(other.planing_most_mm, abs=1e-6)
        assert again.flaws_inside == found.flaws_inside
        assert [(s.leaf, round(s.by_mm, 6)) for s in again.short] == [
            (s.leaf, round(s.by_mm, 6)) for s in found.short
        ]
        assert placed(layout, again).offset_mm == pytest.approx(placing.offset_mm, abs=1e-9)


@slow
@given(
    seed=st.integers(0, 2**31),
    turn=st.integers(-2, 2),
    across=st.integers(-6, 12),
    along=st.integers(-8, 8),
    slide=st.integers(-2, 2),
)
def test_no_place_of_the_grid_is_judged_better_than_the_best(
    seed: int, turn: int, across: int, along: int, slide: int
) -> None:
    """The score orders as the contract does: a better key never shows fewer points."""
    layout = small_layout(seed)
    for found in layout.openings:
        best = placed(layout, found)
        on_grid = replace(
            best,
            tilt_deg=turn / 10,
            offset_mm=round(2 * best.offset_mm) / 2 + across / 2,
            shift_mm=round(2 * best.shift_mm) / 2 + along / 2,
            slide_mm=0.3 + max(-2, min(slide, 1)) / 2,
        )
        if layout.settings.match == "slip":
            on_grid = replace(on_grid, tilt_b_deg=-turn / 10, offset_b_mm=on_grid.offset_mm + 0.5)
        shifted = by_hand(layout, on_grid)
        assert shifted.score <= found.score + 1e-9
        assert shifted.fits <= found.fits


def plain_layout() -> Layout:
    leaf = plain_leaf(190, 500, [round_flaw(150, 90, 7)], graded_field(190, 500, 20, 12))
    return lay_out(leaf, None, None, PARLOUR, LayoutSettings(), smaller=())


def test_the_outline_moved_along_takes_its_room_from_one_end() -> None:
    layout = plain_layout()
    found = layout.openings[0]
    middle = replace(placed(layout, found), tilt_deg=0.0, shift_mm=-PARLOUR.length_mm / 2)
    rooms = [by_hand(layout, replace(middle, shift_mm=middle.shift_mm + mm)) for mm in (-4, 0, 4)]
    wanted = (500 - PARLOUR.length_mm) / 2 - 6
    assert [one.end_spare_mm for one in rooms] == pytest.approx([wanted - 4, wanted, wanted - 4])
    assert [one.spare_mm for one in rooms] == pytest.approx([rooms[1].spare_mm] * 3)


def test_the_joint_moved_in_takes_its_room_beside_the_outline() -> None:
    layout = plain_layout()
    found = layout.openings[0]
    best = placed(layout, found)
    moved = by_hand(layout, replace(best, offset_mm=best.offset_mm + 2.5))
    assert moved.spare_mm == pytest.approx(found.spare_mm - 2.5)
    assert moved.a.planing_most_mm == pytest.approx(found.a.planing_most_mm + 2.5)


def test_a_joint_too_near_the_edge_says_how_far_to_move_it_in() -> None:
    layout = plain_layout()
    best = placed(layout, layout.openings[0])
    edge = -95.0  # of a leaf 190 mm wide, from its middle
    near = by_hand(layout, replace(best, tilt_deg=0.0, offset_mm=edge + 0.4))
    assert not near.fits
    assert not near.marginal
    assert near.spare_mm == pytest.approx(-0.6)
    assert "0.6 mm too near its edge" in near.reasons[0]
    assert near.end_spare_mm > 0
    mended = by_hand(layout, replace(best, tilt_deg=0.0, offset_mm=edge + 1.0))
    assert mended.fits


def test_a_joint_tilted_off_one_end_counts_the_whole_edge() -> None:
    """Beyond where the line leaves the wood the edge lacks more than beside it."""
    layout = plain_layout()
    best = replace(placed(layout, layout.openings[0]), tilt_deg=0.0, offset_mm=-95 + 1.0)
    tilted = by_hand(layout, replace(best, tilt_deg=1.0))
    reach = max(abs(best.shift_mm - 6), abs(best.shift_mm + PARLOUR.length_mm + 6))
    assert tilted.spare_mm == pytest.approx(-reach * np.tan(np.radians(1.0)), abs=0.1)
    there = by_hand(layout, replace(best, tilt_deg=1.0, offset_mm=best.offset_mm - tilted.spare_mm))
    assert there.reasons[0] != tilted.reasons[0]
    assert "too near its edge" not in there.reasons[0]


def test_a_joint_beside_the_leaf_is_told() -> None:
    layout = plain_layout()
    best = placed(layout, layout.openings[0])
    off = by_hand(layout, replace(best, offset_mm=400.0))
    assert not off.fits
    assert off.spare_mm < 0
    assert np.isfinite([off.spare_mm, off.end_spare_mm, off.score]).all()


@slow
@given(seed=st.integers(0, 2**31))
def test_the_best_by_hand_is_the_layouts(seed: int) -> None:
    layout = small_layout(seed)
    for found in layout.openings:
        args = (layout.a, layout.b, layout.registration, small_outline(), layout.settings)
        best = best_by_hand(*args, found.joint_edge, found.neck_end, found.show_face)
        assert place_by_hand(*args, best).score == pytest.approx(found.score, abs=1e-9)


def test_a_slide_beyond_the_shops_limit_is_judged_and_told() -> None:
    layout = plain_layout()
    best = placed(layout, layout.openings[0])
    far = by_hand(layout, replace(best, slide_mm=9.0))
    assert any("more than the 6 mm that the shop allows" in reason for reason in far.reasons)


def test_a_back_with_a_cutaway_lies_as_the_layout_lays_it() -> None:
    left = PARLOUR.half_mm * (0.9, 1.0)
    cut = replace(PARLOUR, name="cut", left_half_mm=left)
    leaf = plain_leaf(190, 500)
    layout = lay_out(leaf, None, None, cut, LayoutSettings(use="back"), smaller=())
    for found in layout.openings:
        args = (layout.a, layout.b, layout.registration, cut, layout.settings)
        again = place_by_hand(*args, placing_by_hand(found, *args))
        assert np.allclose(again.a.outline_mm, found.a.outline_mm)
        assert again.spare_mm == pytest.approx(found.spare_mm)


def test_an_opening_comes_back_from_its_document() -> None:
    layout = plain_layout()
    for found in layout.openings:
        again = opening_of_part(OpeningPart.of(found))
        assert OpeningPart.of(again) == OpeningPart.of(found)
        args = (layout.a, layout.b, layout.registration, PARLOUR, layout.settings)
        placing = placing_by_hand(again, *args, hair_mm=ROUNDED_MM)
        judged = place_by_hand(*args, placing)
        assert judged.spare_mm == pytest.approx(found.spare_mm, abs=2e-3)
        assert judged.fits == found.fits
        assert judged.flaws_inside == found.flaws_inside


@slow
@given(seed=st.integers(0, 2**31))
def test_rounding_takes_no_joint_off_the_wood(seed: int) -> None:
    layout = small_layout(seed)
    outline = small_outline() if layout.outline.name == "small" else PARLOUR
    args = (layout.a, layout.b, layout.registration, outline, layout.settings)
    for found in layout.openings:
        kept = opening_of_part(OpeningPart.of(found))
        again = place_by_hand(*args, placing_by_hand(kept, *args, hair_mm=ROUNDED_MM))
        assert again.fits == found.fits or abs(found.spare_mm) < 2e-3
        assert again.spare_mm == pytest.approx(found.spare_mm, abs=3e-3)
        assert again.joint_room_mm == pytest.approx(found.joint_room_mm, abs=3e-3)


def test_a_placing_comes_back_from_json_bit_by_bit() -> None:
    placing = HandPlacing("left", 2, "other", 0.1 + 0.2, -71.02500000000001, 1 / 3, -2 / 7, None, None)
    assert (
        HandPlacingPart.model_validate_json(HandPlacingPart.of(placing).model_dump_json()).placing()
        == placing
    )


def same(one: object, other: object) -> bool:
    if isinstance(one, np.ndarray):
        return isinstance(other, np.ndarray) and one.tobytes() == other.tobytes() and one.dtype == other.dtype
    if isinstance(one, tuple):
        return isinstance(other, tuple) and len(one) == len(other) and all(map(same, one, other))
    if hasattr(one, "__dataclass_fields__"):
        return type(one) is type(other) and all(
            same(getattr(one, f.name), getattr(other, f.name))
            for f in fields(one)  # type: ignore[arg-type]
        )
    return one == other


@slow
@given(seed=st.integers(0, 2**31), ends=st.booleans())
def test_a_kept_leaf_comes_back_the_same(seed: int, ends: bool) -> None:
    rng = np.random.default_rng(seed)
    leaf = rough_leaf(rng)
    if ends:
        x = np.arange(6.0)
        ring = np.where(rng.random(6) < 0.3, np.nan, rng.uniform(0, 90, 6))
        end = EndGrain(x, ring, Thirds(None, rng.uniform(0, 90), 80.0), rng.choice(["left", None]))
        leaf = replace(leaf, end=end, other_flaws=(round_flaw(4, 5, 1.1, "pitch", 0.1 + 0.2),))
    kept = leaf_bytes(leaf)
    assert same(leaf_from_bytes(kept), leaf)
    assert leaf_bytes(leaf_from_bytes(kept)) == kept


def test_a_leaf_kept_in_an_unknown_form_is_told() -> None:
    with np.load(BytesIO(leaf_bytes(mirrored(plain_leaf(190, 500))))) as archive:
        arrays = dict(archive)
    says = json.loads(str(arrays["says"])) | {"version": 2}
    newer = BytesIO()
    np.savez(newer, **(arrays | {"says": np.array(json.dumps(says))}))
    with pytest.raises(Mistake, match="form 2"):
        leaf_from_bytes(newer.getvalue())
    for wrong in (b"", b"no archive", leaf_bytes(plain_leaf(190, 500))[:200]):
        with pytest.raises(Mistake, match="read the pair's photographs again"):
            leaf_from_bytes(wrong)
