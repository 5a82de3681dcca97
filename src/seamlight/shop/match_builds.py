"""Matching a rack to the wanted instruments: the best assignment as a whole, its reasons, and the next best.

What a person locked stays, whatever speaks against it; a reserved pair serves only who it is reserved for.
Among all ways the one is taken that fills the most wishes, then completes the most instruments, then serves
those wanted soonest, then has the most points (see `match_wishes`). Nothing here is greedy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.shop.assign import Problem, Value, Way, best_two
from seamlight.shop.match_short import Shortage, shortage_of
from seamlight.shop.match_wishes import Offer, Wish, points, reasons, refusals
from seamlight.units import Unit


@dataclass(frozen=True)
class Given:
    """A pair given to a wish, and why."""

    wish: Wish
    offer: Offer
    points: float
    locked: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """One assignment of the whole rack."""

    given: tuple[Given, ...]
    short: tuple[Wish, ...]
    complete: int  # instruments with every part served
    points: float


@dataclass(frozen=True)
class Swap:
    """What the second best gives a wish instead."""

    wish: Wish
    best: Offer | None
    second: Offer | None


@dataclass(frozen=True)
class Matching:
    """The best assignment, what it leaves short, and the best of all others."""

    best: Plan
    shortages: tuple[Shortage, ...]
    second: Plan | None
    swaps: tuple[Swap, ...]
    difference: str


def match_builds(wishes: Sequence[Wish], offers: Sequence[Offer], unit: Unit = "mm") -> Matching:
    """Give pairs to wishes.

    Args:
        wishes: every part of every wanted instrument; locked ones with their pair.
        offers: the pairs on the rack, those locked among them.
        unit: the shop's unit, for the sentences.

    Raises:
        Mistake: one pair is locked twice, or a locked pair is not on the rack.
    """
    by_id = {offer.pair_id: offer for offer in offers}
    fixed = _locked(wishes, by_id)
    free = [wish for wish in wishes if wish.locked is None]
    rest = [offer for offer in offers if offer.pair_id not in fixed]
    first, other = _nothing(free), None
    if free and rest:
        first, other = best_two(Problem(_table(free, rest), _groups(free), _urgencies(free)))
    best = _plan(wishes, by_id, free, rest, first, unit)
    second = _plan(wishes, by_id, free, rest, other, unit) if other else None
    return Matching(
        best=best,
        shortages=_shortages(best, offers, unit),
        second=second,
        swaps=_swaps(best, second, wishes) if second else (),
        difference=_difference(first, other),
    )


def _nothing(free: Sequence[Wish]) -> Way:
    return Way((None,) * len(free), Value(0, 0, 0, 0))


def _locked(wishes: Sequence[Wish], by_id: dict[int, Offer]) -> dict[int, Wish]:
    """Locked pairs and who has them."""
    fixed: dict[int, Wish] = {}
    for wish in wishes:
        if wish.locked is None:
            continue
        if wish.locked in fixed:
            label = by_id[wish.locked].label
            raise Mistake(
                f"{label} is locked for {fixed[wish.locked].said} and for {wish.said}",
                where="locked",
                do="unlock one of them",
            )
        if wish.locked not in by_id:
            raise Mistake(
                f"the pair locked for {wish.said} is not on the rack", where="locked", do="unlock it"
            )
        fixed[wish.locked] = wish
    return fixed


def _table(free: Sequence[Wish], offers: Sequence[Offer]) -> NDArray[np.int64]:
    """(wishes, offers) hundredths of points; -1 where the pair can't serve."""
    table = np.full((len(free), len(offers)), -1, dtype=np.int64)
    for i, wish in enumerate(free):
        for j, offer in enumerate(offers):
            if not refusals(wish, offer):
                table[i, j] = round(points(wish, offer) * 100)
    return table


def _groups(free: Sequence[Wish]) -> tuple[int, ...]:
    """Instruments as groups; a part that is locked is served already and keeps no other from completing."""
    return tuple(wish.build_id for wish in free)


def _urgencies(free: Sequence[Wish]) -> tuple[int, ...]:
    """The sooner an instrument is wanted the more; those without a date last, then in the order given."""
    order = list(dict.fromkeys(wish.build_id for wish in free))
    dates = {wish.build_id: wish.want_by or date.max for wish in free}
    ranked = sorted(order, key=lambda build: (dates[build], order.index(build)))
    return tuple(len(ranked) - ranked.index(wish.build_id) for wish in free)


def _plan(
    wishes: Sequence[Wish],
    by_id: dict[int, Offer],
    free: Sequence[Wish],
    rest: Sequence[Offer],
    way: Way,
    unit: Unit,
) -> Plan:
    """The way in words, wishes in the order given."""
    gets = {id(wish): thing for wish, thing in zip(free, way.gets, strict=True)}
    has: list[tuple[Wish, Offer]] = []
    short: list[Wish] = []
    for wish in wishes:
        thing = gets.get(id(wish))
        if wish.locked is not None:
            has.append((wish, by_id[wish.locked]))
        elif thing is not None:
            has.append((wish, rest[thing]))
        else:
            short.append(wish)
    taken = {offer.pair_id: wish for wish, offer in has}
    lacking = {wish.build_id for wish in short}
    given = tuple(
        Given(wish, offer, points(wish, offer), wish.locked is not None, _why(wish, offer, rest, taken, unit))
        for wish, offer in has
    )
    return Plan(
        given=given,
        short=tuple(short),
        complete=len({wish.build_id for wish in wishes} - lacking),
        points=round(sum(one.points for one in given), 2),
    )


def _why(
    wish: Wish, offer: Offer, rest: Sequence[Offer], taken: dict[int, Wish], unit: Unit
) -> tuple[str, ...]:
    """The pair's own merits, then its place among the others."""
    said = list(reasons(wish, offer, unit))
    if wish.locked is not None:
        reserved = [f"{r.text}." for r in refusals(wish, offer, unit) if r.why in ("kind", "reserved")]
        return (wish.locked_why, *reserved, *said)
    able = [other for other in rest if not refusals(wish, other)]
    if len(able) == 1:
        said.append("The only pair on the rack that can serve this.")
    own = points(wish, offer)
    better = [other for other in able if points(wish, other) > own]
    if better:
        top = max(better, key=lambda other: points(wish, other))
        gain = points(wish, top) - own
        goes = f"goes to {taken[top.pair_id].said}" if top.pair_id in taken else "is left on the rack"
        said.append(f"{top.label} would suit better by {gain:.1f} points, but {goes}: better as a whole.")
    return tuple(said)


def _shortages(plan: Plan, offers: Sequence[Offer], unit: Unit) -> tuple[Shortage, ...]:
    given_to = {one.offer.pair_id: one.wish for one in plan.given}
    return tuple(shortage_of(wish, offers, given_to, unit) for wish in plan.short)


def _swaps(best: Plan, second: Plan, wishes: Sequence[Wish]) -> tuple[Swap, ...]:
    first_has = {id(one.wish): one.offer for one in best.given}
    then_has = {id(one.wish): one.offer for one in second.given}
    pairs = ((wish, first_has.get(id(wish)), then_has.get(id(wish))) for wish in wishes)
    return tuple(Swap(wish, one, two) for wish, one, two in pairs if one is not two)


def _difference(best: Way, second: Way | None) -> str:
    """How much the second best is behind, by the first thing that tells them apart."""
    if second is None:
        return "There is no other way to give this wood."
    one, two = best.value, second.value
    if one.served != two.served:
        return f"The next best fills {_count(one.served - two.served, 'wish', 'wishes')} fewer."
    if one.complete != two.complete:
        less = _count(one.complete - two.complete, "instrument", "instruments")
        return f"The next best fills as many wishes but completes {less} fewer."
    if one.urgency != two.urgency:
        return "The next best fills as many wishes, but leaves short one that is wanted sooner."
    if one.points != two.points:
        return f"The next best is behind by {(one.points - two.points) / 100:.2f} points."
    return "The next best is exactly as good: choose whichever you like."


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
