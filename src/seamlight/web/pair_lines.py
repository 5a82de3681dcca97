"""Each fold of a pair's page in one line, and the row of links to them."""

from __future__ import annotations

from collections.abc import Sequence

from seamlight.sheets.words import length
from seamlight.shop.planed_room import PlanedRoom
from seamlight.units import Unit
from seamlight.web.filters import length_in
from seamlight.web.pair_facts import PairPage

Jump = tuple[str, str]


def jumps(shown: PairPage) -> tuple[Jump, ...]:
    """What the page has, in its order: name and where."""
    laid = shown.laid is not None
    rows = (
        ("Picture", "picture", laid or bool(shown.pictures)),
        ("Openings", "openings", laid),
        ("Planed", "planed", laid),
        ("Flaws", "flaws", laid),
        ("Then and now", "then-now", bool(shown.then_now)),
        ("Grade", "grade", True),
        ("Facts", "facts", True),
        ("Weights", "weights", True),
        ("Photographs", "photographs", True),
        ("History", "history", True),
    )
    return tuple((name, where) for name, where, there in rows if there)


def lines(shown: PairPage, unit: Unit) -> dict[str, str]:
    """The folds' summaries by the template's names."""
    return {
        "planed_line": _planed(shown.room, unit),
        "then_line": _then(shown),
        "facts_line": _facts(shown, unit),
        "weights_line": _weights(shown),
        "history_line": _history(shown),
    }


def _planed(room: Sequence[PlanedRoom], unit: Unit) -> str:
    """What came off the joint edges, and the least that may still come off."""
    if not room:
        return "Planed so far"
    off = max(one.planed_mm for one in room)
    left = min(one.left_mm for one in room)
    said = f"{length(off, unit)} off" if off else "nothing yet"
    rest = f"{length(left, unit)} left" if left > 0 else f"too far by {length(-left, unit)}"
    return f"Planed so far: {said}, {rest}"


def _then(shown: PairPage) -> str:
    faces = ", ".join(one.says for one in shown.then_now)
    return f"Then and now: {faces}"


def _facts(shown: PairPage, unit: Unit) -> str:
    pair = shown.pair
    thick = f"{length_in(pair.thickness_mm, unit, 2)} thick" if pair.thickness_mm is not None else ""
    told = (pair.species_common, thick, pair.lies_at, f"for {pair.reserved_for}" if pair.reserved_for else "")
    return ": ".join(filter(None, ("Facts", ", ".join(one for one in told if one))))


def _weights(shown: PairPage) -> str:
    if not shown.weights:
        return "Weights: not weighed yet"
    last = shown.weights[-1]
    what = "both leaves" if last.leaf == "both" else f"leaf {last.leaf.upper()}"
    return f"Weights ({len(shown.weights)}): {what} {last.grams:g} g"


def _history(shown: PairPage) -> str:
    if not shown.history:
        return "History"
    _, last = shown.history[0]
    return f"History: {last.what}, by {last.by}"
