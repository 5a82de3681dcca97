"""Wanted instruments and the wood on the rack: which pair may serve which wish, and how well.

A wish is one part of one instrument (its top or its back). What a pair must have is a wood among those
wished, the outline fitting, a grade no worse than asked, and no reservation for someone else. How well it
serves is counted in points up to 100, which only ever choose among assignments that fill as many wishes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from seamlight.layout.spare_words import least_room, spare_words
from seamlight.units import Unit, show_length

Part = Literal["top", "back"]
Why = Literal["kind", "wood", "not laid out", "short", "grade", "reserved"]

# Points, 100 in all. Plain choices of ours: wood first, then the opening's own score, then thrift and room.
WOOD_POINTS = 30.0
WOOD_STEP = 10.0  # less for each place further down the list of woods wished
SCORE_POINTS = 30.0
GRADE_POINTS = 20.0
BETTER_STEP = 5.0  # less for each grade better than asked: the better wood is kept for who asks for it
ROOM_POINTS = 20.0
MARGINAL_LOSS = 15.0  # room within the scale's own error


@dataclass(frozen=True)
class Wish:
    """One part of one wanted instrument.

    Attributes:
        build_id: the instrument.
        build: its label.
        part: top or back.
        outline: key of the outline, as in `Offer.laid`.
        outline_name: the same in words.
        woods: kinds of wood in the order they are liked; empty for any.
        least_grade: place of the grade asked for (0 the best); None for any.
        least_grade_name: the same in words.
        spare_mm: room wanted over trim.
        names: who a pair may be reserved for and still serve: the label, the customer.
        want_by: when the instrument is wanted.
        locked: a pair chosen by hand or begun, which stays.
        locked_why: why, as a sentence.
        leaf_mm: least width and length of a leaf to buy, None where the outline is not known.
    """

    build_id: int
    build: str
    part: Part
    outline: str
    outline_name: str
    woods: tuple[str, ...] = ()
    least_grade: int | None = None
    least_grade_name: str = ""
    spare_mm: float = 0.0
    names: tuple[str, ...] = ()
    want_by: date | None = None
    locked: int | None = None
    locked_why: str = "Locked by hand."
    leaf_mm: tuple[float, float] | None = None

    @property
    def said(self) -> str:
        """`the top of Anna's parlour`, near enough."""
        return f"the {self.part} of {self.build}"


@dataclass(frozen=True)
class Laid:
    """What a pair's best opening for one outline gives."""

    fits: bool
    marginal: bool
    spare_mm: float  # the least of both rooms
    score: float  # 0..100
    grade: int | None = None  # place of the grade inside this outline, 0 the best
    grade_name: str = ""
    rooms_mm: tuple[float, float | None] | None = (
        None  # beside the outline and at its ends, where both are known
    )


@dataclass(frozen=True)
class Offer:
    """A pair on the rack, with its layout for each outline."""

    pair_id: int
    label: str
    kind: str
    wood: str
    laid: Mapping[str, Laid] = field(default_factory=dict)
    reserved_for: str = ""


@dataclass(frozen=True)
class Refusal:
    """One thing that keeps a pair from serving a wish."""

    why: Why
    text: str


def refusals(wish: Wish, offer: Offer, unit: Unit = "mm") -> tuple[Refusal, ...]:
    """Everything that keeps the pair from serving the wish; empty where nothing does."""
    if offer.kind != wish.part:
        return (Refusal("kind", f"{offer.label} is no {wish.part}"),)
    found = []
    if wish.woods and _wood_place(wish, offer) is None:
        found.append(Refusal("wood", f"{offer.label} is {offer.wood or 'of a wood nobody named'}"))
    laid = offer.laid.get(wish.outline)
    if laid is None:
        found.append(Refusal("not laid out", f"{offer.label} has not been laid out for it yet"))
    elif not laid.fits:
        found.append(Refusal("short", f"{offer.label} {_lacking(laid, unit)}"))
    if laid and wish.least_grade is not None and laid.grade is not None and laid.grade > wish.least_grade:
        found.append(Refusal("grade", f"{offer.label} is graded {laid.grade_name}"))
    if not _free_for(wish, offer):
        found.append(Refusal("reserved", f"{offer.label} is reserved for {offer.reserved_for}"))
    return tuple(found)


def _lacking(laid: Laid, unit: Unit) -> str:
    if laid.spare_mm < 0:
        at_ends = laid.rooms_mm is not None and least_room(*laid.rooms_mm)[1] == "at the ends"
        return f"is short by {show_length(-laid.spare_mm, unit)}{' at the ends' if at_ends else ''}"
    return "has the room, but something else is in the way"


def _free_for(wish: Wish, offer: Offer) -> bool:
    reserved = _plain(offer.reserved_for)
    return not reserved or reserved in {_plain(name) for name in wish.names}


def _wood_place(wish: Wish, offer: Offer) -> int | None:
    """The wood's place in the list wished, 0 where any will do; None where it is not in it."""
    if not wish.woods:
        return 0
    wished = [_plain(wood) for wood in wish.woods]
    return wished.index(_plain(offer.wood)) if _plain(offer.wood) in wished else None


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def points(wish: Wish, offer: Offer) -> float:
    """How well a pair serves a wish, 0..100, to a hundredth; what isn't known counts for nothing."""
    place = _wood_place(wish, offer)
    found = 0.0 if place is None else max(0.0, WOOD_POINTS - WOOD_STEP * place)
    laid = offer.laid.get(wish.outline)
    if laid is not None:
        found += SCORE_POINTS * min(max(laid.score, 0.0), 100.0) / 100
        found += _grade_points(wish, laid)
        found += ROOM_POINTS * _room_share(wish, laid)
        found -= MARGINAL_LOSS if laid.marginal else 0.0
    return round(min(max(found, 0.0), 100.0), 2)


def _grade_points(wish: Wish, laid: Laid) -> float:
    if wish.least_grade is None:
        return GRADE_POINTS
    if laid.grade is None:
        return 0.0
    return max(0.0, GRADE_POINTS - BETTER_STEP * max(0, wish.least_grade - laid.grade))


def _room_share(wish: Wish, laid: Laid) -> float:
    if laid.spare_mm >= wish.spare_mm:
        return 1.0
    return max(0.0, laid.spare_mm / wish.spare_mm) if wish.spare_mm > 0 else 0.0


def reasons(wish: Wish, offer: Offer, unit: Unit = "mm") -> tuple[str, ...]:
    """What speaks for the pair, and what does not, in sentences."""
    said = []
    place = _wood_place(wish, offer)
    if place is None:
        said.append(f"{offer.wood or 'Its wood is not named'}: not a wood that was wished.")
    elif wish.woods:
        said.append(f"{offer.wood}, {'the wood wished' if place == 0 else f'wish number {place + 1}'}.")
    laid = offer.laid.get(wish.outline)
    if laid is None:
        return (*said, f"Not laid out for the {wish.outline_name}: nobody knows yet whether it fits.")
    said.append(_room_said(wish, laid, unit))
    if laid.grade_name:
        said.append(_grade_said(wish, laid))
    elif wish.least_grade is not None:
        said.append(f"Not graded yet; {wish.least_grade_name} or better is wished.")
    return tuple(said)


def _room_said(wish: Wish, laid: Laid, unit: Unit) -> str:
    if not laid.fits:
        return f"For the {wish.outline_name} it {_lacking(laid, unit)}."
    beside, ends = laid.rooms_mm or (laid.spare_mm, None)
    said = f"Fits the {wish.outline_name} with {spare_words(beside, ends, lambda mm: show_length(mm, unit))}"
    if laid.spare_mm < wish.spare_mm:
        said += f"; {show_length(wish.spare_mm, unit)} is wished"
    return f"{said}, within the scale's error." if laid.marginal else f"{said}."


def _grade_said(wish: Wish, laid: Laid) -> str:
    said = f"Graded {laid.grade_name} inside this outline"
    if wish.least_grade is None or laid.grade is None:
        return f"{said}."
    if laid.grade > wish.least_grade:
        return f"{said}; {wish.least_grade_name} or better was wished."
    if laid.grade < wish.least_grade:
        return f"{said}, better than the {wish.least_grade_name} asked for."
    return f"{said}, as asked."
