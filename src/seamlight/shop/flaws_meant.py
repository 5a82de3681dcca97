"""Which flaws a person meant: numbers of found flaws are checked against where those flaws lay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from seamlight.grain.flaw import Flaw

ALIKE = 0.5  # shared part of two boxes round flaws, from which they are one; a plain choice of ours
Box = list[float]  # x0, y0, x1, y1, mm in the leaf frame


def boxes_of(edits: Mapping[str, Any], found: Sequence[Flaw]) -> dict[str, Box]:
    """The box round each found flaw that edits drop or replace, by its number."""
    numbers = {int(one) for one in [*edits.get("drop", []), *edits.get("replace", {})]}
    return {str(number): _box(found[number]) for number in sorted(numbers) if 0 <= number < len(found)}


def as_meant(
    edits: Mapping[str, Any], boxes: Mapping[str, Box] | None, found: Sequence[Flaw]
) -> dict[str, Any]:
    """Edits with the numbers that the flaws they meant have now; those of flaws no longer found are left out.

    Without boxes nobody wrote down what was meant: only numbers that no flaw has are left out.
    """
    if not edits.get("drop") and not edits.get("replace"):
        return dict(edits)
    there = [_box(flaw) for flaw in found]

    def number(said: Any) -> int | None:
        index, meant = int(said), (boxes or {}).get(str(int(said)))
        if meant is None:
            return index if index < len(there) else None
        shares = [_shared(meant, box) for box in there]
        if index < len(shares) and shares[index] >= ALIKE:
            return index
        best = max(range(len(shares)), key=shares.__getitem__, default=None)
        return best if best is not None and shares[best] >= ALIKE else None

    drop = [now for one in edits.get("drop", []) if (now := number(one)) is not None]
    replace = {
        str(now): change
        for one, change in edits.get("replace", {}).items()
        if (now := number(one)) is not None and now not in drop
    }
    rest = {name: value for name, value in edits.items() if name not in ("drop", "replace")}
    return rest | ({"drop": drop} if drop else {}) | ({"replace": replace} if replace else {})


def _box(flaw: Flaw) -> Box:
    (x0, y0), (x1, y1) = flaw.outline_mm.min(axis=0), flaw.outline_mm.max(axis=0)
    return [round(float(mm), 2) for mm in (x0, y0, x1, y1)]


def _shared(one: Box, other: Box) -> float:
    """Area of the part that two boxes share over that which they cover together."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    if wide <= 0 or high <= 0:
        return 0.0
    area = sum((box[2] - box[0]) * (box[3] - box[1]) for box in (one, other))
    return wide * high / (area - wide * high)
