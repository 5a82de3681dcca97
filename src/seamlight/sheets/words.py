"""What is said about an opening, in a maker's words: the same on pictures, sheets and in the terminal."""

from __future__ import annotations

from typing import Literal

from seamlight.layout.opening import Layout, Opening
from seamlight.layout.register import NONE_BELOW, PAIR_FROM
from seamlight.layout.spare_words import least_room, spare_words
from seamlight.units import MM_PER_INCH, Unit, said_in, show_length
from seamlight.units.show import nearest_64th

Verdict = Literal["fits", "marginal", "short"]
Match = Literal["book", "slip"]
ALONE = "leaf B not given: A mirrored"
SLIPPED = "slip match: leaf B is slid beside leaf A, not turned over, and shows the face that A hides"


def length(mm: float, units: Unit, decimals: int = 1) -> str:
    """A length to read: mm, or inches to 1/64 with the mm beside it.

    >>> length(198.5, "mm"), length(198.5, "inch")
    ('198.5 mm', '7 13/16 in (198.5 mm)')
    """
    if units == "mm":
        return show_length(mm, "mm", decimals)
    return f"{nearest_64th(mm / MM_PER_INCH)} in ({show_length(mm, 'mm', decimals)})"


def bare(mm: float, units: Unit, decimals: int = 1) -> str:
    """A length without its unit, for a drawing or a table that says the unit once."""
    return nearest_64th(mm / MM_PER_INCH) if units == "inch" else f"{round(mm, decimals) + 0.0:.{decimals}f}"


def heading(opening: Opening, number: int, match: Match = "book") -> str:
    """Such as `1: joint on the right edge, neck at end 1`; the edge is leaf A's.

    Slip-matched, leaf B is slid beside A and not turned over: it shows the face that A hides.
    """
    if match == "slip":
        face = f", {a_showing(opening)}"
    else:
        face = ", other faces showing" if opening.show_face == "other" else ""
    return f"{number}: joint on the {opening.joint_edge} edge, neck at end {opening.neck_end}{face}"


def a_showing(opening: Opening) -> str:
    """Which faces show of a slip-matched pair."""
    a, b = ("sawn", "other") if opening.show_face == "sawn" else ("other", "sawn")
    return f"A's {a} and B's {b} face showing"


def verdict(opening: Opening) -> Verdict:
    """Fits, marginal or short, as one word."""
    if opening.marginal:
        return "marginal"
    return "fits" if opening.fits else "short"


def verdict_sentence(opening: Opening, units: Unit) -> str:
    """The verdict as a sentence with its figure."""
    least, where = least_room(opening.spare_mm, opening.end_spare_mm)
    kind = verdict(opening)
    lacking = f"short by {length(-least, units)}" + (" at the ends" if where == "at the ends" else "")
    if kind == "marginal":
        how = f"{length(least, units)} to spare {where}" if least >= 0 else lacking
        return f"marginal: {how}, within the scale's error"
    if kind == "fits":
        return f"fits, {spare_words(opening.spare_mm, opening.end_spare_mm, lambda mm: length(mm, units))}"
    return lacking if least < 0 else "does not fit"


def least_spare(opening: Opening, units: Unit) -> str:
    """The least room and where it is, for a cell of a table: `8.6 beside`, `2.3 at ends`."""
    least, where = least_room(opening.spare_mm, opening.end_spare_mm)
    return f"{bare(least, units)} {where.replace('the ', '')}"


_REPEATS = ("fits: ", "short by ")  # what the verdict's sentence says already


def reasons_beyond(opening: Opening, units: Unit = "mm") -> list[str]:
    """The reasons beyond the verdict itself, lengths in `units`; one that holds for both leaves is said once.

    A reason for leaf A with its like for leaf B becomes one of both.
    """
    said = [reason for reason in opening.reasons if not reason.startswith(_REPEATS)]
    twice = {reason for reason in said if "of leaf A" in reason and _of_b(reason) in said}
    dropped = {_of_b(reason) for reason in twice}
    kept = [reason for reason in said if reason not in dropped]
    said = [reason.replace("of leaf A", "of both leaves") if reason in twice else reason for reason in kept]
    return [said_in(reason, units) for reason in said]


def _of_b(reason: str) -> str:
    return reason.replace("of leaf A", "of leaf B")


def score_words(opening: Opening, units: Unit = "mm") -> str:
    """The score with its parts, in numbers and words."""
    parts = "; ".join(
        f"{name} {points:.3g} ({said_in(words, units)})" if words else f"{name} {points:.3g}"
        for name, points, words in opening.parts
    )
    return f"score {opening.score:.0f} of 100: {parts}" if parts else f"score {opening.score:.0f} of 100"


def main_reasons(opening: Opening, units: Unit = "mm", most: int = 3) -> list[str]:
    """The first few reasons beyond the verdict; the first remedy among them where it does not fit."""
    said = reasons_beyond(opening, units)
    if opening.fits or not opening.remedies:
        return said[:most]
    return [*said[: most - 1], said_in(opening.remedies[0].text, units)]


def shortages(opening: Opening, body_mm: float, units: Unit) -> list[str]:
    """Where the wood does not reach, a sentence for each stretch; one of both leaves is said once."""
    found: dict[tuple[str, str], list[str]] = {}
    for short in opening.short:
        place = _stretch(short.from_mm, short.to_mm, body_mm, units)
        found.setdefault((length(short.by_mm, units), place), []).append(short.leaf.upper())
    return [
        f"{'both leaves are' if len(set(leaves)) == 2 else f'leaf {leaves[0]} is'} short by {by} {place}"
        for (by, place), leaves in found.items()
    ]


def _stretch(from_mm: float, to_mm: float, body_mm: float, units: Unit) -> str:
    if to_mm <= 0:
        return "beyond the neck end"
    if from_mm >= body_mm:
        return "beyond the tail end"
    return f"from {length(from_mm, units, 0)} to {length(to_mm, units, 0)} from the neck end"


def a_and_b(pairs: Layout) -> str:
    """How well the leaves match, in words."""
    match = pairs.registration.match
    if pairs.stands_in:
        return ALONE
    if pairs.registration.same_leaf:
        return f"match {match:.2f}: both pictures show one face of one leaf, no pair"
    if match > PAIR_FROM:
        return f"match {match:.2f}: a pair"
    if match < NONE_BELOW:
        return f"match {match:.2f}: no pair"
    return f"match {match:.2f}: look before you trust it"


def purpose(layout: Layout) -> str:
    """Such as `dreadnought top`."""
    return f"{layout.outline.name} {layout.settings.use}"


def sentences(said: list[str]) -> str:
    """Remarks as sentences: a capital first, a full stop last."""
    return " ".join(f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in said if text)
