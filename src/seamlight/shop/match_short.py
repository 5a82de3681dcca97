"""What a rack leaves short: the wishes that got nothing, what comes near, and what to buy."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seamlight.shop.match_wishes import Offer, Refusal, Wish, refusals
from seamlight.units import Unit, show_length

_NEAR = 3  # this many near misses are told
# The nearest first: what a word or a look may mend before what only other wood mends.
_ORDER = ("not laid out", "reserved", "grade", "wood", "short")


@dataclass(frozen=True)
class Shortage:
    """A wish that got nothing."""

    wish: Wish
    text: str
    near: tuple[str, ...]
    buy: str


def shortage_of(
    wish: Wish, offers: Sequence[Offer], given_to: Mapping[int, Wish], unit: Unit = "mm"
) -> Shortage:
    """Why a wish got nothing.

    Args:
        wish: the wish.
        offers: the whole rack.
        given_to: who has each pair that was given, by the pair's number.
    """
    against = {offer.pair_id: refusals(wish, offer, unit) for offer in offers}
    able = [offer for offer in offers if not against[offer.pair_id]]
    misses = [(offer, against[offer.pair_id]) for offer in offers if _is_near(against[offer.pair_id])]
    misses.sort(key=lambda miss: (_ORDER.index(miss[1][0].why), -_spare(wish, miss[0]), miss[0].label))
    return Shortage(
        wish=wish,
        text=_text(wish, able, given_to),
        near=tuple(f"{against[0].text}." for _, against in misses[:_NEAR]),
        buy=to_buy(wish, unit),
    )


def _is_near(against: tuple[Refusal, ...]) -> bool:
    """Kept away by one thing only, and of the right kind."""
    return len(against) == 1 and against[0].why != "kind"


def _spare(wish: Wish, offer: Offer) -> float:
    laid = offer.laid.get(wish.outline)
    return laid.spare_mm if laid else 0.0


def _text(wish: Wish, able: Sequence[Offer], given_to: Mapping[int, Wish]) -> str:
    if not able:
        woods = " or ".join(wish.woods)
        return f"No {woods or wish.part} on the rack can serve {wish.said} ({wish.outline_name})."
    told = ", ".join(
        f"{offer.label} to {given_to[offer.pair_id].said}" if offer.pair_id in given_to else offer.label
        for offer in able[:_NEAR]
    )
    who = f"The only pair that could serve {wish.said} is"
    if len(able) > 1:
        who = f"The {len(able)} pairs that could serve {wish.said} are"
    return f"{who} given elsewhere: {told}."


def to_buy(wish: Wish, unit: Unit = "mm") -> str:
    """What would fill the wish, as one would ask a seller for it."""
    woods = " or ".join(wish.woods) or "any wood that suits"
    said = f"a {wish.part} set of {woods}"
    if wish.leaf_mm is not None:
        width, length = wish.leaf_mm
        said += (
            f", leaves at least {show_length(width, unit, 0)} wide and {show_length(length, unit, 0)} long"
        )
    return f"{said}, {wish.least_grade_name} or better" if wish.least_grade_name else said


def shopping_list(shortages: Sequence[Shortage]) -> tuple[str, ...]:
    """What to buy for all of them, alike ones counted."""
    counts = Counter(shortage.buy for shortage in shortages)
    return tuple(f"{count} × {buy.removeprefix('a ')}" for buy, count in counts.items())
