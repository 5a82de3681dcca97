"""The best assignment as a whole against every possible one; locks, reservations, reasons, shortages."""

import itertools
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.shop.assign import Problem, best_two
from seamlight.shop.match_builds import Matching, match_builds
from seamlight.shop.match_short import shopping_list
from seamlight.shop.match_wishes import Laid, Offer, Wish, points, reasons, refusals


def every_way(problem: Problem) -> list[tuple[int, int, int, int]]:
    """What each possible way is worth, best first, by trying them all."""
    takers, things = problem.points.shape
    found = []
    for gets in itertools.product([None, *range(things)], repeat=takers):
        used = [thing for thing in gets if thing is not None]
        if len(set(used)) < len(used):
            continue
        if any(problem.points[i, t] < 0 for i, t in enumerate(gets) if t is not None):
            continue
        served = [i for i, thing in enumerate(gets) if thing is not None]
        groups = set(problem.group)
        complete = sum(all(i in served for i, g in enumerate(problem.group) if g == one) for one in groups)
        urgency = sum(problem.urgency[i] for i in served)
        worth = sum(int(problem.points[i, t]) for i, t in enumerate(gets) if t is not None)
        found.append((len(served), complete, urgency, worth))
    return sorted(found, reverse=True)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    takers, things = draw(st.integers(1, 4)), draw(st.integers(1, 6))
    worth = st.one_of(st.just(-1), st.integers(0, 6), st.integers(0, 10_000))
    table = draw(st.lists(worth, min_size=takers * things, max_size=takers * things))
    group = draw(st.lists(st.integers(0, 2), min_size=takers, max_size=takers))
    urgency = draw(st.lists(st.integers(0, 3), min_size=takers, max_size=takers))
    return Problem(np.array(table).reshape(takers, things), tuple(group), tuple(urgency))


@given(problem=problems())
@settings(max_examples=80, deadline=None)
def test_best_and_second_best_are_those_of_all_ways(problem: Problem) -> None:
    ways = every_way(problem)
    best, second = best_two(problem)
    assert best.value.key == ways[0]
    assert (second.value.key if second else None) == (ways[1] if len(ways) > 1 else None)
    for way in (best, second):
        if way is not None:
            assert way.value.points == sum(
                int(problem.points[i, thing]) for i, thing in enumerate(way.gets) if thing is not None
            )
    assert second is None or second.gets != best.gets


def wish(build: int, part: str = "top", **more: object) -> Wish:
    base = Wish(
        build,
        f"build {build}",
        part,  # type: ignore[arg-type]
        "parlour",
        "parlour",
        names=(f"build {build}",),
        leaf_mm=(178.0, 488.0),
    )
    return replace(base, **more)  # type: ignore[arg-type]


def offer(number: int, spare: float = 4.0, kind: str = "top", **more: object) -> Offer:
    laid = {"parlour": Laid(spare >= 0, False, spare, 80.0)}
    return replace(Offer(number, f"P{number}", kind, "Sitka spruce", laid), **more)  # type: ignore[arg-type]


def has(found: Matching) -> dict[str, str]:
    return {one.wish.said: one.offer.label for one in found.best.given}


def test_it_is_not_greedy() -> None:
    """The first wish likes P1 best, but only P1 serves the second: the first takes P2."""
    cedar = {"wood": "western redcedar"}
    wishes = [wish(1, woods=("Sitka spruce", "western redcedar")), wish(2, woods=("Sitka spruce",))]
    found = match_builds(wishes, [offer(1), offer(2, **cedar)])
    assert has(found) == {"the top of build 1": "P2", "the top of build 2": "P1"}
    said = " ".join(found.best.given[0].reasons)
    assert "P1 would suit better by 10.0 points, but goes to the top of build 2" in said
    assert "The only pair on the rack that can serve this." in found.best.given[1].reasons


def test_a_lock_stays_and_says_what_speaks_against_it() -> None:
    wishes = [wish(1, locked=2), wish(2)]
    found = match_builds(wishes, [offer(1), offer(2, spare=-4.5)])
    assert has(found) == {"the top of build 1": "P2", "the top of build 2": "P1"}
    reasons = found.best.given[0].reasons
    assert reasons[0] == "Locked by hand."
    assert any("short by 4.5 mm" in line for line in reasons)


def test_a_pair_locked_twice_or_gone_is_refused() -> None:
    with pytest.raises(Mistake, match="locked for the top of build 1 and for the top of build 2"):
        match_builds([wish(1, locked=1), wish(2, locked=1)], [offer(1)])
    with pytest.raises(Mistake, match="not on the rack"):
        match_builds([wish(1, locked=9)], [offer(1)])


def test_a_reserved_pair_serves_only_who_it_is_reserved_for() -> None:
    pair = offer(1, reserved_for=" Build  2")
    assert has(match_builds([wish(1), wish(2)], [pair])) == {"the top of build 2": "P1"}
    alone = match_builds([wish(1)], [pair])
    assert alone.best.given == ()
    assert alone.shortages[0].near == ("P1 is reserved for  Build  2.",)


def test_a_complete_instrument_before_two_halves() -> None:
    """The one top could serve either; only with the back that is reserved does it complete an instrument."""
    wishes = [wish(1), wish(1, "back"), wish(2), wish(2, "back")]
    found = match_builds(wishes, [offer(1), offer(2, kind="back", reserved_for="build 2")])
    assert has(found) == {"the top of build 2": "P1", "the back of build 2": "P2"}
    assert found.best.complete == 1


def test_wanted_sooner_is_served_first() -> None:
    wishes = [wish(1, want_by=date(2027, 5, 1)), wish(2, want_by=date(2027, 1, 1)), wish(3)]
    found = match_builds(wishes, [offer(1)])
    assert has(found) == {"the top of build 2": "P1"}
    assert found.second is not None
    assert (
        found.difference == "The next best fills as many wishes, but leaves short one that is wanted sooner."
    )


def test_better_wood_is_kept_for_who_asks_for_it() -> None:
    def graded(number: int, place: int, name: str) -> Offer:
        return offer(number, laid={"parlour": Laid(True, False, 4.0, 80.0, place, name)})

    wishes = [
        wish(1, least_grade=2, least_grade_name="Second"),
        wish(2, least_grade=0, least_grade_name="Master"),
    ]
    found = match_builds(wishes, [graded(1, 0, "Master"), graded(2, 2, "Second"), graded(3, 3, "Practice")])
    assert has(found) == {"the top of build 1": "P2", "the top of build 2": "P1"}


def test_what_is_left_short_says_what_comes_near_and_what_to_buy() -> None:
    wishes = [wish(n, woods=("Sitka spruce",), least_grade=1, least_grade_name="First") for n in (1, 2, 3)]
    rack = [
        offer(1),
        offer(2, spare=-2.0),
        offer(3, wood="western redcedar"),
        offer(4, laid={}),
        offer(5, kind="back"),
        offer(6, laid={"parlour": Laid(True, False, 4.0, 80.0, 2, "Second")}),
    ]
    found = match_builds(wishes, rack)
    assert len(found.best.given) == 1
    assert [shortage.wish.build_id for shortage in found.shortages] == [2, 3]
    short = found.shortages[0]
    assert short.text == (
        "The only pair that could serve the top of build 2 is given elsewhere: P1 to the top of build 1."
    )
    assert short.near == (
        "P4 has not been laid out for it yet.",
        "P6 is graded Second.",
        "P3 is western redcedar.",
    )
    assert shopping_list(found.shortages) == (
        "2 × top set of Sitka spruce, leaves at least 178 mm wide and 488 mm long, First or better",
    )


def test_nothing_wanted_and_nothing_on_the_rack() -> None:
    assert match_builds([], []).best.given == ()
    empty = match_builds([wish(1)], [])
    assert empty.shortages[0].text == "No top on the rack can serve the top of build 1 (parlour)."
    assert empty.difference == "There is no other way to give this wood."


def test_inch_shops_read_inches() -> None:
    found = match_builds([wish(1)], [offer(1)], "inch")
    assert any("5/32 in (0.157)" in line for line in found.best.given[0].reasons)


WOODS = ("Sitka spruce", "western redcedar", "mahogany")


@st.composite
def racks(draw: st.DrawFn) -> tuple[list[Wish], list[Offer]]:
    rack = [
        offer(
            n,
            kind=draw(st.sampled_from(["top", "back"])),
            wood=draw(st.sampled_from(WOODS)),
            reserved_for=draw(st.sampled_from(["", "", "", "build 1"])),
            laid={
                "parlour": Laid(
                    spare >= 0, False, spare, draw(st.floats(0, 100)), draw(st.integers(0, 3)), "some grade"
                )
            },
        )
        for n in range(1, draw(st.integers(1, 6)) + 1)
        for spare in [draw(st.floats(-3, 8))]
    ]
    wishes = [
        wish(
            build,
            part,
            woods=draw(st.sampled_from([(), WOODS[:1], WOODS[:2], WOODS[::-1]])),
            least_grade=draw(st.sampled_from([None, 1, 2])),
            spare_mm=draw(st.sampled_from([0.0, 3.0])),
        )
        for build in range(1, draw(st.integers(1, 2)) + 1)
        for part in ("top", "back")
    ]
    if draw(st.booleans()):
        wishes[0] = replace(wishes[0], locked=draw(st.sampled_from([o.pair_id for o in rack])))
    return wishes, rack


@given(rack=racks())
@settings(max_examples=60, deadline=None)
def test_every_assignment_is_allowed_and_none_is_better(rack: tuple[list[Wish], list[Offer]]) -> None:
    wishes, offers = rack
    found = match_builds(wishes, offers)
    for plan in filter(None, (found.best, found.second)):
        pairs = [one.offer.pair_id for one in plan.given]
        assert len(set(pairs)) == len(pairs)
        for one in plan.given:
            assert one.locked or not refusals(one.wish, one.offer)
        assert len(plan.given) + len(plan.short) == len(wishes)
    assert [s.wish for s in found.shortages] == list(found.best.short)
    assert all(one.locked == (one.wish.locked is not None) for one in found.best.given)

    free = [w for w in wishes if w.locked is None]
    taken = {w.locked for w in wishes}
    rest = [o for o in offers if o.pair_id not in taken]
    table = np.array(
        [[-1 if refusals(w, o) else round(points(w, o) * 100) for o in rest] for w in free], dtype=np.int64
    ).reshape(len(free), len(rest))
    ranks = {build: i for i, build in enumerate(dict.fromkeys(w.build_id for w in free))}
    urgency = tuple(len(ranks) - ranks[w.build_id] for w in free)
    ways = every_way(Problem(table, tuple(w.build_id for w in free), urgency))
    own = [one for one in found.best.given if not one.locked]
    assert len(own) == ways[0][0]
    assert round(sum(one.points for one in own) * 100) == ways[0][3]
    assert (found.second is None) == (len(ways) < 2)


def test_the_least_room_is_said_with_where_it_is() -> None:
    tight = replace(offer(1), laid={"parlour": Laid(True, False, 1.0, 80.0, rooms_mm=(30.4, 1.0))})
    short = replace(offer(1), laid={"parlour": Laid(False, False, -2.0, 80.0, rooms_mm=(30.4, -2.0))})
    said = [" ".join(reasons(wish(1), one)) for one in (tight, short)]
    assert "Fits the parlour with 1.0 mm to spare at the ends, 30.4 beside." in said[0]
    assert "is short by 2.0 mm at the ends" in said[1]
