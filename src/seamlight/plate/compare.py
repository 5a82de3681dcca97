"""Two ways to the constants of one piece, side by side in words."""

from __future__ import annotations

from typing import Literal

from seamlight.plate.agreement import Estimate, Way, agreement
from seamlight.plate.document import SpreadPart, TapDocument

_Key = Literal["e_along", "e_across", "g"]
_NAMES: dict[_Key, str] = {"e_along": "E along", "e_across": "E across", "g": "G"}


def compared(one: TapDocument, other: TapDocument) -> tuple[str, ...]:
    """A line for each constant that both told, and the reasons where they disagree.

    Both are of one piece with one calliper's thickness, so the spreads compared are those of bending
    stiffness.
    """
    lines: list[str] = []
    for key, name in _NAMES.items():
        mine, theirs = _estimate(one, key), _estimate(other, key)
        if mine is None or theirs is None:
            continue
        found = agreement(mine, theirs)
        way = "agree" if found.agrees else "disagree"
        lines.append(f"{name} by {mine.way} and by {theirs.way} {way}: {found.differ_pct:+.1f} %")
        lines += found.reasons
    return tuple(dict.fromkeys(lines)) or ("the two documents have no constant in common",)


def _estimate(document: TapDocument, key: _Key) -> Estimate | None:
    value = {"e_along": document.e_along_mpa, "e_across": document.e_across_mpa, "g": document.g_mpa}[key]
    spread = _of(document.stiffness_spread_pct, key) or _of(document.spread_pct, key)
    if value is None or spread is None:
        return None
    way: Way = document.way
    return Estimate(
        way,
        value,
        spread,
        document.moisture.moisture_pct if document.moisture else None,
        document.span_over_thickness,
        document.sure,
    )


def _of(spread: SpreadPart, key: _Key) -> float | None:
    return {"e_along": spread.e_along, "e_across": spread.e_across, "g": spread.g}[key]
