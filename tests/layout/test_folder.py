"""Pairs found in a folder, by name and by figure, and the best way to couple them."""

import pickle
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import phone, saw, wood
from seamlight.layout.couple import best_couples
from seamlight.layout.figure import Figure, figure_of
from seamlight.layout.folder import find_pairs, pairs_by_name
from seamlight.photo import lay_flat, parse_scale
from seamlight.photo.picture import Picture

WAYS = [("sawn", False), ("other", False), ("sawn", True), ("other", True)]


def leaves_of(seed: int, way: tuple[str, bool], **log: object) -> tuple[Figure, Figure]:
    pair = saw.saw_pair(wood.grow_log(seed, **log), seed)
    a, b = saw.face(pair.a, "sawn", 3.0), saw.face(pair.b, way[0], 3.0, turned=way[1])
    return figure_of(a.as_flat()), figure_of(b.as_flat())


@pytest.fixture(scope="module")
def stack() -> list[Figure]:
    """Five pairs, each B lying its own way: leaves 0-1, 2-3, ... belong together."""
    woods = ["western redcedar", "Engelmann spruce", "Engelmann spruce", "black walnut", "maple"]
    pairs = [leaves_of(9500 + n, WAYS[n % 4], species=species) for n, species in enumerate(woods)]
    return [leaf for pair in pairs for leaf in pair]


def test_pairs_are_found_by_their_figures(stack):
    order = np.random.default_rng(5).permutation(len(stack))
    names = [f"IMG_{1000 + n}.jpg" for n in range(len(stack))]
    found = find_pairs([(name, stack[place]) for name, place in zip(names, order, strict=True)])
    together = sorted(tuple(sorted((int(order[i]), int(order[j])))) for i, j in found.pairs)
    assert together == [(0, 1), (2, 3), (4, 5), (6, 7), (8, 9)]
    assert min(how.match for how in found.registrations) > 0.7
    assert found.alone == ()


def test_a_leaf_without_its_partner_stays_alone(stack):
    found = find_pairs([("x1.jpg", stack[0]), ("x2.jpg", stack[2]), ("x3.jpg", stack[3])])
    assert found.pairs == ((1, 2),)
    assert found.alone == (0,)


def test_names_win_and_a_pair_that_does_not_match_is_told(stack):
    names = ["walnut-3a.jpg", "walnut-3b.jpg", "IMG_1.jpg", "IMG_2.jpg"]
    found = find_pairs(list(zip(names, [stack[0], stack[2], stack[4], stack[5]], strict=True)))
    assert found.pairs == ((0, 1), (2, 3))
    assert found.registrations[0].match < 0.4
    assert len(found.warnings) == 1
    assert "walnut-3a.jpg and walnut-3b.jpg" in found.warnings[0]


def photographed(leaf: saw.SawnLeaf, seed: int, bench: str) -> Figure:
    shot = phone.photograph(saw.face(leaf, "sawn", 5.0), seed, bench=bench, targets=2)
    (flat,) = lay_flat(Picture(shot.rgb, shot.focal_px), parse_scale("tags"), 4.5)
    return figure_of(flat)


def test_one_leaf_photographed_twice_is_no_pair_and_takes_no_partner_away():
    pair = saw.saw_pair(wood.grow_log(9560, species="black walnut"), 9560)
    a, again = (photographed(pair.a, 9560 + n, bench) for n, bench in enumerate(("dark", "white")))
    b = photographed(pair.b, 9562, "dark")
    found = find_pairs([("m1.jpg", a), ("m2.jpg", again), ("m7.jpg", b)])
    assert [sorted(couple)[1] for couple in found.pairs] == [2]
    assert len(found.alone) == 1
    assert found.warnings == ("m1.jpg and m2.jpg show the same face of one leaf: one of them is enough",)
    assert find_pairs([("m1.jpg", a), ("m2.jpg", again)]).pairs == ()
    named = find_pairs([("m1a.jpg", a), ("m1b.jpg", again)])
    assert "the same face of one leaf" in named.warnings[0]


def test_an_empty_folder_and_a_single_leaf(stack):
    assert find_pairs([]).pairs == ()
    assert find_pairs([("one.jpg", stack[0])]).alone == (0,)


@pytest.mark.parametrize(
    ("names", "pairs"),
    [
        (["walnut-3a.jpg", "walnut-3b.png"], ((0, 1),)),
        (["3B.JPG", "3A.JPG"], ((1, 0),)),
        (["top a.jpg", "top b.jpg", "top_a.jpg"], ((0, 1),)),
        (["cedarA.jpg", "cedarB.jpg"], ((0, 1),)),
        (["boa.jpg", "bob.jpg"], ()),
        (["IMG_0012.jpg", "IMG_0013.jpg"], ()),
        (["1a.jpg", "2b.jpg"], ()),
        (["x/1a.jpg", "y/1b.jpg"], ()),
    ],
)
def test_what_names_say(names, pairs):
    assert pairs_by_name(names) == pairs


def test_a_figure_is_small_and_travels_to_a_worker(stack):
    packed = pickle.dumps(stack[0])
    assert len(packed) < 700_000
    again = pickle.loads(packed)
    assert np.array_equal(again.lines, stack[0].lines)
    assert again.size_mm == stack[0].size_mm


weights = st.dictionaries(st.sampled_from(list(combinations(range(7), 2))), st.floats(0.4, 1.0), max_size=14)


@settings(max_examples=60, deadline=None)
@given(weights)
def test_no_other_coupling_weighs_more(weights):
    def heaviest(left: frozenset[int]) -> float:
        if len(left) < 2:
            return 0.0
        first, *rest = sorted(left)
        totals = [heaviest(left - {first})]
        totals += [
            weights[first, other] + heaviest(left - {first, other})
            for other in rest
            if (first, other) in weights
        ]
        return max(totals)

    couples = best_couples(7, weights)
    things = [thing for couple in couples for thing in couple]
    assert len(things) == len(set(things))
    assert sum(weights[couple] for couple in couples) == pytest.approx(heaviest(frozenset(range(7))))


def test_a_large_group_is_coupled_soundly():
    dice = np.random.default_rng(0)
    weights = {(i, j): float(dice.uniform(0.4, 1)) for i, j in combinations(range(30), 2)}
    couples = best_couples(30, weights)
    assert len({thing for couple in couples for thing in couple}) == 30
    assert sum(weights[couple] for couple in couples) > 15 * 0.9
