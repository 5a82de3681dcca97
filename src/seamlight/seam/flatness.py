"""Before anything: are the leaves flat, equally dry and rested?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.mistake import Mistake
from seamlight.seam.profile import Floats, Profile, fit_gap
from seamlight.units import Unit, show_length

FLAT_MM = 0.3  # common practice, no source
STEADY_PCT_PER_WEEK = 0.2  # from memory: a leaf whose weight changes less has settled
ALIKE_PCT = 1.0  # moisture content of the two leaves (common practice, no source)
WET_PCT = 12.0  # moisture at gluing: 8 to 12 % (FAA airframe handbook, as a secondary page has it)
DO_FLAT = "sticker it, weigh it down and wait: a leaf that is forced flat in the rig pulls at the seam"


@dataclass(frozen=True)
class Flatness:
    """How far one leaf is from flat, and what to do."""

    cup_mm: float  # greatest gap under a straightedge laid across
    twist_mm: float  # how far one corner stands off the plane through the other three
    flat: bool
    advice: tuple[str, ...]


def cup_mm(across_mm: Floats, gap_mm: Floats) -> float:
    """Cup from readings under a straightedge across the leaf: what is left when its ends are laid at zero."""
    return float(fit_gap(Profile(across_mm, gap_mm, 0.0)).gap_mm.max())


def twist_mm(corners_mm: tuple[float, float, float, float]) -> float:
    """Twist from the heights of the four corners above the bench, going round the leaf."""
    a, b, c, d = corners_mm
    # the fourth corner of a plane through three: d = a - b + c
    return abs(a - b + c - d)


def judge_flatness(cup: float, twist: float, limit_mm: float = FLAT_MM, unit: Unit = "mm") -> Flatness:
    """Whether a leaf may be jointed.

    Raises:
        Mistake: a reading below 0.
    """
    if cup < 0 or twist < 0:
        raise Mistake("a gap is below 0", do="read gaps as 0 or more")
    advice: list[str] = []
    for word, value in (("cupped", cup), ("twisted", twist)):
        if value > limit_mm:
            by, most = show_length(value, unit), show_length(limit_mm, unit)
            advice.append(f"{word} by {by}, more than {most}: {DO_FLAT}")
    return Flatness(cup, twist, not advice, tuple(advice) or ("flat enough to joint",))


def weight_change_pct_per_week(days: Floats, grams: Floats) -> float:
    """How fast a leaf's weight changes: the slope of the line through its weighings, % a week.

    Raises:
        Mistake: fewer than two weighings, or all at one time.
    """
    if days.size < 2 or np.ptp(days) == 0:
        raise Mistake("one weighing says nothing of change", do="weigh it again in a few days")
    return float(np.polyfit(days, grams, 1)[0] * 7 / grams.mean() * 100)


def judge_dryness(
    change_pct_per_week: tuple[float | None, float | None], mc_pct: tuple[float | None, float | None]
) -> tuple[str, ...]:
    """What stands against jointing: leaves still drying, wet or not alike. Empty where nothing does.

    Args:
        change_pct_per_week: of leaf A and B; None where not weighed twice.
        mc_pct: moisture content of A and B; None where not measured.
    """
    against: list[str] = []
    for leaf, change in zip("AB", change_pct_per_week, strict=True):
        if change is not None and abs(change) > STEADY_PCT_PER_WEEK:
            way = "loses" if change < 0 else "takes up"
            against.append(f"leaf {leaf} still {way} {abs(change):.1f} % a week: let it rest")
    for leaf, moisture in zip("AB", mc_pct, strict=True):
        if moisture is not None and moisture > WET_PCT:
            against.append(
                f"leaf {leaf} is at {moisture:.1f} %, over {WET_PCT:g} %: it will shrink, let it dry"
            )
    a, b = mc_pct
    if a is not None and b is not None and abs(a - b) > ALIKE_PCT:
        against.append(
            f"leaf A is at {a:.1f} % and B at {b:.1f} %: let them lie together until they are alike"
        )
    return tuple(against)
