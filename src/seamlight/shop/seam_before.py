"""Before a joint is planed: are both leaves flat, equally dry, rested? As typed, and as weighed over time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np
from pydantic import Field
from sqlalchemy.orm import Session

from seamlight.document import Document, Figure, MaybeFigure, Part
from seamlight.mistake import Mistake
from seamlight.seam import judge_dryness, judge_flatness
from seamlight.seam.flatness import STEADY_PCT_PER_WEEK, weight_change_pct_per_week
from seamlight.shop.change import Change
from seamlight.shop.readings import keep_reading, newest
from seamlight.shop.tables import Reading, Weight
from seamlight.shop.tally import planed, weigh, weights
from seamlight.units import Unit

BEFORE = "before"
LOOKED_BACK = timedelta(days=42)
DRIEST_PCT, WETTEST_PCT = 2.0, 40.0
Leaf = Literal["a", "b"]
LEAVES: tuple[Leaf, Leaf] = ("a", "b")


class LeafBefore(Part):
    """One leaf as it was found. None where it was not measured."""

    cup_mm: MaybeFigure = None
    twist_mm: MaybeFigure = None
    mc_pct: MaybeFigure = None
    flat: bool | None = None


class BeforeDocument(Document):
    """What stands against jointing a pair now."""

    schema_: Literal["seamlight/before/1"] = Field(default="seamlight/before/1", alias="schema")
    a: LeafBefore
    b: LeafBefore
    weekly_pct: dict[str, Figure]  # change of weight of what was weighed: a, b, both
    against: list[str]
    to_do: list[str]  # what was not looked at yet
    ready: bool | None  # None: something was not looked at


@dataclass(frozen=True)
class Rest:
    """How a leaf's weight changes; `doubt` is what one step of the scale makes of it."""

    leaf: str  # a, b, both
    pct_per_week: float
    doubt_pct_per_week: float
    steady_after_days: float  # from the first weighing, when the scale can tell steady from not

    @property
    def settled(self) -> bool | None:
        """Whether it has settled; None: too soon to tell."""
        if abs(self.pct_per_week) - self.doubt_pct_per_week > STEADY_PCT_PER_WEEK:
            return False
        return True if self.doubt_pct_per_week <= STEADY_PCT_PER_WEEK else None


def rest_of(rows: Sequence[Weight], leaf: str, since: datetime) -> Rest | None:
    """How a leaf's weight changes by its weighings since a moment; None where they span less than a day."""
    own = [row for row in rows if row.leaf == leaf and row.at >= since]
    days = np.array([(row.at - own[0].at) / timedelta(days=1) for row in own])
    if len(own) < 2 or days[-1] < 1.0:
        return None
    grams = np.array([row.grams for row in own])
    # the scale's step as it was typed: whole grams or tenths; half a step either way at both ends
    step_g = 1.0 if np.all(grams == np.rint(grams)) else 0.1
    per_day_pct = step_g / float(grams.mean()) * 100.0
    change = weight_change_pct_per_week(days, grams)
    return Rest(leaf, change, per_day_pct * 7.0 / days[-1], per_day_pct * 7.0 / STEADY_PCT_PER_WEEK)


def rests(session: Session, pair_id: int, now: datetime) -> tuple[Rest, ...]:
    """How a pair's leaves change in weight, each by itself and both together; planed wood does not count."""
    rows = weights(session, pair_id)
    since = now - LOOKED_BACK
    found = []
    for leaf in ("a", "b", "both"):
        cut = [row.at for row in planed(session, pair_id) if "both" in (leaf, row.leaf) or row.leaf == leaf]
        rest = rest_of(rows, leaf, max([since, *cut]))
        if rest is not None:
            found.append(rest)
    return tuple(found)


def judge_before(
    flat: Mapping[Leaf, LeafBefore], resting: Sequence[Rest], unit: Unit = "mm"
) -> BeforeDocument:
    """What stands against jointing: from flatness and moisture as typed, and the weighings."""
    by_leaf = {rest.leaf: rest for rest in resting}
    against, to_do = [], []
    for leaf in LEAVES:
        said = flat[leaf]
        if said.flat is None:
            to_do.append(f"leaf {leaf.upper()}: lay a straightedge across it and try its corners")
        elif not said.flat:
            judged = judge_flatness(said.cup_mm or 0.0, said.twist_mm or 0.0, unit=unit)
            against += [f"leaf {leaf.upper()} is {line}" for line in judged.advice]
    drying = {leaf: rest for leaf, rest in by_leaf.items() if rest.settled is False}
    change = tuple(drying[leaf].pct_per_week if leaf in drying else None for leaf in LEAVES)
    against += judge_dryness((change[0], change[1]), (flat["a"].mc_pct, flat["b"].mc_pct))
    if "both" in drying and not set(LEAVES) & set(by_leaf):
        rate = drying["both"].pct_per_week
        way = "lose" if rate < 0 else "take up"
        against.append(f"the leaves still {way} {abs(rate):.1f} % a week: let them rest")
    to_do += _to_weigh(by_leaf)
    ready = False if against else None if to_do else True
    return BeforeDocument(
        a=flat["a"],
        b=flat["b"],
        weekly_pct={leaf: rest.pct_per_week for leaf, rest in by_leaf.items()},
        against=against,
        to_do=to_do,
        ready=ready,
    )


def _to_weigh(by_leaf: Mapping[str, Rest]) -> list[str]:
    """What the weighings cannot tell yet."""
    if not by_leaf:
        return ["weigh both leaves, and again in some days: only their weight says whether they have settled"]
    if "both" in by_leaf and not set(LEAVES) & set(by_leaf):
        asked = [by_leaf["both"]]
    else:
        missing = [leaf for leaf in LEAVES if leaf not in by_leaf]
        if missing:
            return [f"weigh leaf {missing[0].upper()} twice as well, some days apart"]
        asked = [by_leaf[leaf] for leaf in LEAVES]
    soon = [rest for rest in asked if rest.settled is None]
    if not soon:
        return []
    days = max(rest.steady_after_days for rest in soon)
    return [f"weigh again: with this scale it takes {days:.0f} days from the first weighing to tell"]


def leaf_before(cup_mm: float | None, twist_mm: float | None, mc_pct: float | None) -> LeafBefore:
    """One leaf's figures, judged.

    Raises:
        Mistake: a figure that cannot be.
    """
    if mc_pct is not None and not DRIEST_PCT <= mc_pct <= WETTEST_PCT:
        raise Mistake(f"{mc_pct:g} % is no wood's moisture", where="mc", do="write it like 7.5")
    known = cup_mm is not None and twist_mm is not None
    flat = judge_flatness(cup_mm or 0.0, twist_mm or 0.0).flat
    return LeafBefore(
        cup_mm=cup_mm, twist_mm=twist_mm, mc_pct=mc_pct, flat=flat if known or not flat else None
    )


def note_before(
    change: Change,
    pair_id: int,
    leaves: Mapping[Leaf, LeafBefore],
    grams: Mapping[Leaf, float | None],
    says: Mapping[str, str],
) -> Reading | None:
    """Keep what was measured before jointing: weighings as weights, the rest as a reading of its own.

    Figures not typed stand as they were found last. None is returned where only weights were typed.

    Raises:
        Mistake: nothing was measured, or a figure that cannot be.
    """
    for leaf in LEAVES:
        figure = grams[leaf]
        if figure is not None:
            weigh(change, pair_id, leaf, figure)
    if all(leaves[leaf] == LeafBefore() for leaf in LEAVES):
        if all(figure is None for figure in grams.values()):
            raise Mistake("nothing was typed", where="cup_a", do="write what was measured")
        return None
    change.session.flush()
    before = flat_before(change.session, pair_id)
    merged = {leaf: _over(before[leaf], leaves[leaf]) for leaf in LEAVES}
    document = judge_before(merged, rests(change.session, pair_id, change.at))
    return keep_reading(change, BEFORE, document, pair_id=pair_id, says=says)


def flat_before(session: Session, pair_id: int) -> dict[Leaf, LeafBefore]:
    """Both leaves as they were found last."""
    row = newest(session, BEFORE, pair_id=pair_id)
    if row is None:
        return {leaf: LeafBefore() for leaf in LEAVES}
    kept = BeforeDocument.model_validate(row.document)
    return {"a": kept.a, "b": kept.b}


def _over(old: LeafBefore, new: LeafBefore) -> LeafBefore:
    cup = new.cup_mm if new.cup_mm is not None else old.cup_mm
    twist = new.twist_mm if new.twist_mm is not None else old.twist_mm
    return leaf_before(cup, twist, new.mc_pct if new.mc_pct is not None else old.mc_pct)
