"""Leaf B registered on leaf A's mirror: rendered pairs with known truth, and strangers."""

from functools import lru_cache

import numpy as np
import pytest

from seamlight.demo import saw, wood
from seamlight.layout.carry import carry_to_a
from seamlight.layout.figure import Figure, figure_of
from seamlight.layout.pair import Registration
from seamlight.layout.register import NONE_BELOW, PAIR_FROM, SAME_LEAF, register, register_figures

WAYS = [("sawn", False), ("other", False), ("sawn", True), ("other", True)]
WOODS = {
    "cedar with knots": {"species": "western redcedar", "knots": 2},
    "fine clear spruce": {"species": "Engelmann spruce", "ring_mm": 0.8, "wander_mm": 0.3},
    "walnut": {"species": "black walnut"},
    "maple": {"species": "maple"},
    "leaning spruce": {"species": "Engelmann spruce", "lean_deg": 25},
}


@lru_cache(maxsize=16)
def grown(name: str, seed: int) -> tuple[saw.SawnPair, tuple[str, bool]]:
    dice = np.random.default_rng(seed)
    log = wood.grow_log(seed, **WOODS[name])
    pair = saw.saw_pair(
        log,
        seed,
        b_slide_mm=float(dice.uniform(-8, 8)),
        b_across_mm=float(dice.uniform(-4, 4)),
        b_rotate_deg=float(dice.uniform(-0.9, 0.9)),
    )
    return pair, WAYS[seed % 4]


@lru_cache(maxsize=16)
def figures(name: str, seed: int) -> tuple[Figure, Figure]:
    pair, (side, turned) = grown(name, seed)
    a, b = saw.face(pair.a, "sawn", 4.0), saw.face(pair.b, side, 4.0, turned=turned)
    return figure_of(a.as_flat()), figure_of(b.as_flat())


@lru_cache(maxsize=16)
def found(name: str, seed: int) -> Registration:
    return register_figures(*figures(name, seed))


@pytest.mark.parametrize(("name", "seed"), [(name, 9200 + n) for n, name in enumerate(WOODS)])
def test_a_pair_is_found_whichever_way_b_lies(name, seed):
    pair, way = grown(name, seed)
    registration = found(name, seed)
    assert registration.match > PAIR_FROM
    assert (registration.b_shows, registration.b_turned) == way
    assert registration.rotate_deg == pytest.approx(pair.rotate_deg, abs=0.05)
    # rings that lean have truly moved across between the faces: by depth times the cotangent
    depth = abs(pair.b.depth_mm(way[0]) - pair.a.sawn_v_mm)
    assert registration.across_mm == pytest.approx(pair.across_mm, abs=0.3 + 0.65 * depth)
    if registration.slide_mm is not None:
        assert registration.slide_mm == pytest.approx(pair.slide_mm, abs=3.0)


@pytest.mark.parametrize(("name", "seed"), [(name, 9200 + n) for n, name in enumerate(WOODS)])
def test_the_figure_meets_where_the_registration_says(name, seed):
    """The same ring radius at both places, to a fraction of a ring, over the whole leaf."""
    pair, (side, turned) = grown(name, seed)
    registration = found(name, seed)
    size_a = (pair.a.width_mm, pair.a.length_mm)
    size_b = (pair.b.width_mm, pair.b.length_mm)
    across, along = np.meshgrid(np.linspace(0.15, 0.85, 9), np.linspace(0.1, 0.9, 9))
    on_b = np.column_stack([across.ravel() * size_b[0], along.ravel() * size_b[1]])
    on_a = carry_to_a(registration, size_a, size_b, on_b)
    own = size_b - on_b if turned else on_b
    moved = pair.b.radius(side, *own.T) - pair.a.radius("sawn", *on_a.T)
    assert abs(np.mean(moved)) < 0.15
    assert np.median(np.abs(moved)) < 0.5


@pytest.mark.parametrize("name", ["fine clear spruce", "walnut", "maple"])
def test_strangers_of_one_wood_are_no_pair(name):
    a, _ = figures(name, 9200 + list(WOODS).index(name))
    _, b = figures(name, 9300 + list(WOODS).index(name))
    registration = register_figures(a, b)
    assert registration.match < NONE_BELOW
    assert registration.slide_mm is None
    assert any("no pair" in says for says in registration.warnings)


def straight(seed: int, species: str = "Engelmann spruce") -> saw.SawnPair:
    log = wood.grow_log(seed, species, lean_deg=0.0, taper=0.0, wander_mm=0.0)
    return saw.saw_pair(log, seed, grain_deg=0.0)


def bare(leaf: saw.SawnLeaf, seed: int, mark: bool = False) -> Figure:
    """A face of perfectly straight rings without any texture along the grain, with a mark or without."""
    face = saw.face(leaf, "sawn", 4.0)
    row = np.median(face.rgb[400:1800], axis=0, keepdims=True)
    noise = np.random.default_rng(seed).normal(0, 3, (*face.wood.shape, 1))
    rgb = np.clip(np.broadcast_to(row, face.rgb.shape) + noise, 0, 255).astype(np.uint8)
    if mark:
        rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]]
        middle = columns.shape[1] / 2 + (140 if leaf.name == "a" else -140)
        rgb[(columns - middle) ** 2 + (rows - 700.0) ** 2 < 20**2] = 60
    flat = face.as_flat()
    return figure_of(type(flat)(**{**flat.__dict__, "rgb": rgb}))


def test_straight_clear_wood_does_not_say_how_far_to_slide():
    pair = straight(9401)
    registration = register_figures(bare(pair.a, 1), bare(pair.b, 2))
    assert registration.match > PAIR_FROM
    assert (registration.b_shows, registration.b_turned) == ("sawn", False)
    assert registration.slide_mm is None
    assert any("how far to slide" in says for says in registration.warnings)
    assert any("which way round" in says for says in registration.warnings)
    assert registration.across_mm is not None


def test_one_mark_on_straight_wood_says_it():
    pair = straight(9401)
    registration = register_figures(bare(pair.a, 1, mark=True), bare(pair.b, 2, mark=True))
    assert registration.slide_mm == pytest.approx(0.0, abs=1.5)


def test_the_other_face_of_the_same_leaf_matches_mirrored():
    pair, _ = grown("walnut", 9202)
    face, through = saw.face(pair.a, "sawn", 4.0), saw.face(pair.a, "other", 4.0)
    registration = register(face.as_flat(), through.as_flat())
    assert registration.match > PAIR_FROM
    assert (registration.b_shows, registration.b_turned) == ("sawn", False)


@pytest.mark.parametrize(("name", "seed"), [(name, 9240 + n) for n, name in enumerate(WOODS)])
def test_a_partners_other_face_is_not_taken_for_the_same_leaf_again(name, seed):
    pair = saw.saw_pair(wood.grow_log(seed, **WOODS[name]), seed)
    a, other = (saw.face(leaf, side, 4.0) for leaf, side in ((pair.a, "sawn"), (pair.b, "other")))
    assert not register(a.as_flat(), other.as_flat()).same_leaf
    again = register(a.as_flat(), a.as_flat())
    assert again.same_leaf
    assert again.warnings == (SAME_LEAF,)


def test_a_sliver_and_blank_wood_are_no_pair_and_no_fault():
    pair, _ = grown("walnut", 9202)
    flat = saw.face(pair.a, "sawn", 4.0).as_flat()
    blank = type(flat)(**{**flat.__dict__, "rgb": np.full_like(flat.rgb, 128)})
    assert register(flat, blank).match < NONE_BELOW
    assert register(blank, flat).match < NONE_BELOW
