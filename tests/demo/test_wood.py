"""The grown log: the same seed gives the same wood, and every cut of it agrees with every other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import saw, wood
from seamlight.demo.species import SPECIES
from seamlight.mistake import Mistake

SEEDS = st.integers(0, 999)


def test_a_seed_gives_the_same_wood_twice_and_another_seed_other_wood() -> None:
    first, again, other = (wood.grow_log(seed, knots=2) for seed in (5, 5, 6))
    u = np.linspace(-100, 100, 50)
    assert np.array_equal(first.radius(u, u * 0, u * 2), again.radius(u, u * 0, u * 2))
    assert not np.allclose(first.radius(u, u * 0, u * 2), other.radius(u, u * 0, u * 2))


def test_a_wood_that_is_not_grown_here_is_refused_in_one_line() -> None:
    with pytest.raises(Mistake, match="western redcedar") as caught:
        wood.grow_log(1, "driftwood")
    assert "\n" not in str(caught.value)


@settings(max_examples=12, deadline=None)
@given(seed=SEEDS, lean=st.floats(0, 20), grain=st.floats(-3, 3))
def test_rings_are_as_wide_apart_and_lean_as_asked(seed: int, lean: float, grain: float) -> None:
    log = wood.grow_log(
        seed, ring_mm=1.2, lean_deg=lean, ring_spread=0.0, ring_trend=0.0, wander_mm=0.0, taper=0.0
    )
    pair = saw.saw_pair(log, seed, grain_deg=grain, rough_mm=0.0)
    x, y = np.full(40, pair.a.width_mm / 2), np.linspace(20, 540, 40)
    # across the face the rings are cut at the lean: spacing = width / cos(lean)
    assert pair.a.spacing_mm("sawn", x, y).mean() == pytest.approx(1.2 / np.cos(np.radians(lean)), rel=0.01)
    assert pair.a.direction_deg("sawn", x, y).mean() == pytest.approx(grain, abs=0.02)
    end = saw.end(pair.a, 1, 4.0)
    middle = np.interp(pair.a.width_mm / 2, end.x_mm, end.ring_to_face_deg)
    assert middle == pytest.approx(90 - lean, abs=1.6)  # the grain's turn moves the end across the rings


@settings(max_examples=8, deadline=None)
@given(seed=SEEDS, slide=st.floats(-8, 8), across=st.floats(-6, 6), turn=st.floats(-0.6, 0.6))
def test_the_registration_lays_b_where_it_grew(seed: int, slide: float, across: float, turn: float) -> None:
    log = wood.grow_log(seed)
    pair = saw.saw_pair(
        log, seed, b_slide_mm=slide, b_across_mm=across, b_rotate_deg=turn, chips=1, taper_mm=12
    )
    a, b = pair.a, pair.b
    points = np.array([[20.0, 30.0], [180.0, 90.0], [100.0, 500.0]])
    grew = np.column_stack(a.from_billet("sawn", *b.to_billet("sawn", points[:, 0], points[:, 1])))
    # layout.pair.Registration: mirror about B's middle, boxes together, turn about A's middle, shift
    middle = np.array([a.width_mm / 2, a.length_mm / 2])
    laid = np.column_stack([a.width_mm / 2 - (points[:, 0] - b.width_mm / 2), points[:, 1]]) - middle
    angle = np.radians(pair.rotate_deg)
    turned = np.column_stack(
        [
            laid[:, 0] * np.cos(angle) + laid[:, 1] * np.sin(angle),
            laid[:, 1] * np.cos(angle) - laid[:, 0] * np.sin(angle),
        ]
    )
    assert np.allclose(turned + middle + [pair.across_mm, pair.slide_mm], grew, atol=1e-9)


def test_both_faces_and_both_ends_are_cut_from_the_same_rings() -> None:
    pair = saw.saw_pair(wood.grow_log(8, lean_deg=9.0, knots=1), 8, grain_deg=1.0, kerf_mm=0.0, taper_mm=10)
    a, b = pair.a, pair.b
    x, y = np.linspace(5, 200, 30), np.linspace(30, 500, 30)
    # without a kerf the two sawn faces are one surface seen from its two sides
    u, z = a.to_billet("sawn", x, y)
    assert np.allclose(a.radius("sawn", x, y), b.radius("sawn", *b.from_billet("sawn", u, z)), atol=1e-9)
    # a face turned over shows the other end of each radius: mirrored, and a thickness deeper
    assert np.allclose(
        *(leaf.from_billet(side, u, z)[0] for leaf, side in ((a, "other"), (b, "sawn"))), atol=6
    )
    for leaf in (a, b):
        for which in (1, 2):
            end = saw.end(leaf, which, 8.0)
            assert end.mirrored == (which == 1)


@pytest.mark.parametrize("name", sorted(SPECIES))
def test_every_wood_can_be_grown_and_looks_like_its_colours(name: str) -> None:
    face = saw.face(saw.saw_pair(wood.grow_log(4, name), 4).a, px_per_mm=1.0)
    seen = face.rgb[face.wood].mean(axis=0)
    one = SPECIES[name]
    low, high = np.minimum(one.early, one.late) - 18, np.maximum(one.early, one.late) + 18
    assert (seen > low).all()
    assert (seen < high).all()
