"""Why the first opening ranks first where a lower one has more room, in a sentence from the score."""

from __future__ import annotations

import re
from collections.abc import Sequence

from seamlight.layout.opening import Opening
from seamlight.sheets.words import length, verdict_sentence
from seamlight.units import Unit, said_in

MORE_MM = 1.0  # less than that nobody asks about

# The order is the contract's: fits, where flaws fall, grain at the seam, these together, then the room.
_FIRST_FOR = {
    "grain over the plate": "straighter grain over the plate",
    "tight wood at the seam": "tighter wood at the seam",
    "quartered wood at the seam": "better quartered wood at the seam",
    "even spacing": "evener spacing of the rings",
    "little planed away": "less wood to plane away",
    "figure at the seam": "figure that meets better at the seam",
}
_POINTS = re.compile(r" \(([0-9.]+) of [0-9.]+\)$")


def first_because(openings: Sequence[Opening], units: Unit) -> str:
    """The sentence, or "" where no lower opening has more room beside the outline than the first.

    Args:
        openings: as they rank, best first, judged as they were ranked.
    """
    if not openings:
        return ""
    first, lower = openings[0], openings[1:]
    roomier = [(n, o) for n, o in enumerate(lower, 2) if o.spare_mm > first.spare_mm + MORE_MM]
    if not roomier:
        return ""
    number, rival = max(roomier, key=lambda one: (one[1].fits, one[1].spare_mm))
    more = f"opening {number} has {length(rival.spare_mm - first.spare_mm, units)} more room"
    if not rival.fits:
        why = "it fits" if first.fits else "it is short by least"
        beside = f"{more} beside the outline, but it is {_lacking(rival, units)}"
        return f"Opening 1 ranks first because {why}; {beside}."
    why = said_in(_why(first, rival, number), units)
    return (
        f"Opening 1 ranks first {why}; {more}. "
        "Room counts last, after flaws, grain at the seam and the wood itself."
    )


def _lacking(rival: Opening, units: Unit) -> str:
    said = verdict_sentence(rival, units)
    return "not clear of everything" if said == "does not fit" else said


def _why(first: Opening, rival: Opening, number: int) -> str:
    """What decides between two that fit."""
    own, other = ({name: text for name, _, text in one.parts} for one in (first, rival))
    if own.get("flaws") != other.get("flaws"):
        return f"for where the flaws fall ({own.get('flaws')}; opening {number}: {other.get('flaws')})"
    seam = "grain at the seam"
    mine, theirs = (one.get(seam, "").partition(" ")[0] for one in (own, other))
    if mine != theirs:
        return f"for grain that runs truer to the joint at the seam ({mine} degrees against {theirs})"
    gains = [
        (_points(own[name]) - _points(other[name]), name)
        for name in _FIRST_FOR
        if name in own and name in other
    ]
    gain, name = max(gains, default=(0.0, ""))
    if gain <= 0:
        return "by a hair in the wood's own parts of the score"
    mine, theirs = (_POINTS.sub("", one[name]).replace(" (root mean square)", "") for one in (own, other))
    if mine == theirs:
        points = f"{_points(own[name]):.1f} of its points against {_points(other[name]):.1f}"
        return f"for a little {_FIRST_FOR[name]} ({points})"
    return f"for {_FIRST_FOR[name]} ({mine}; opening {number}: {theirs})"


def _points(text: str) -> float:
    """A part's own points, as its words end: `... (12.3 of 30)`."""
    found = _POINTS.search(text)
    return float(found.group(1)) if found else 0.0
