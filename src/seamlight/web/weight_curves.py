"""Weights over time as a small chart: wood that still loses water still moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from seamlight.shop.tables import Weight

WIDE, HIGH = 600.0, 180.0
LEFT, RIGHT, TOP, BOTTOM = 120.0, 16.0, 16.0, 36.0
STEADY_PCT = 0.2  # a week; a value from memory
NAMES = {"a": "leaf A", "b": "leaf B", "both": "both leaves"}
_WEEK_S = 7 * 24 * 3600.0
_SHORTEST_S = 12 * 3600.0  # two weighings nearer to each other say nothing of a week


@dataclass(frozen=True)
class WeightCurve:
    """One leaf's: its points in the chart, and how fast it changes."""

    name: str
    path: str
    points: tuple[tuple[float, float], ...]
    says: str


@dataclass(frozen=True)
class WeightCurves:
    """All of a pair's, at one scale."""

    curves: tuple[WeightCurve, ...]
    marks: tuple[tuple[float, str], ...]  # y in the chart, grams
    first: datetime
    last: datetime


def weight_curves(rows: Sequence[Weight]) -> WeightCurves | None:
    """The chart's facts; None where nothing was weighed twice."""
    by_leaf = {leaf: [row for row in rows if row.leaf == leaf] for leaf in NAMES}
    told = {leaf: own for leaf, own in by_leaf.items() if len(own) > 1 and own[-1].at > own[0].at}
    if not told:
        return None
    shown = [row for own in told.values() for row in own]
    first, last = min(row.at for row in shown), max(row.at for row in shown)
    low, high = min(row.grams for row in shown), max(row.grams for row in shown)
    room = max((high - low) * 0.15, high * 0.005)
    low, high = low - room, high + room

    def place(row: Weight) -> tuple[float, float]:
        along = (row.at - first).total_seconds() / max((last - first).total_seconds(), 1.0)
        up = (row.grams - low) / (high - low)
        return (
            round(LEFT + along * (WIDE - LEFT - RIGHT), 1),
            round(HIGH - BOTTOM - up * (HIGH - TOP - BOTTOM), 1),
        )

    curves = tuple(
        WeightCurve(NAMES[leaf], _path(points := tuple(map(place, own))), points, _says(own))
        for leaf, own in told.items()
    )
    ends = (min(row.grams for row in shown), max(row.grams for row in shown))
    marks = [(place(row)[1], f"{row.grams:g} g") for end in ends for row in shown if row.grams == end]
    return WeightCurves(curves, tuple(dict.fromkeys(marks)), first, last)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points)


def _says(rows: Sequence[Weight]) -> str:
    """How fast it changed between the last two weighings, in percent a week."""
    name = NAMES[rows[0].leaf]
    apart = [
        (one, other) for one, other in pairwise(rows) if (other.at - one.at).total_seconds() >= _SHORTEST_S
    ]
    if not apart:
        return f"{name}: weigh again in a few days"
    one, other = apart[-1]
    weeks = (other.at - one.at).total_seconds() / _WEEK_S
    rate = 100.0 * (other.grams - one.grams) / one.grams / weeks
    if abs(rate) < STEADY_PCT:
        return f"{name}: steady, {abs(rate):.1f} % a week"
    return f"{name}: still {'gains' if rate > 0 else 'loses'} {abs(rate):.1f} % a week"
