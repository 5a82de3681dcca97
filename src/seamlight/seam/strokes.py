"""From a depth to strokes: what one stroke takes (learned from readings), and where to stroke.

A stroke is one pass of the plane or of the long abrasive board over a stretch of both edges folded together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seamlight.mistake import Mistake
from seamlight.seam.profile import Floats, Profile
from seamlight.seam.shape import Run, runs_above


@dataclass(frozen=True)
class StrokeFigure:
    """What one stroke of a tool takes off each edge, mm."""

    tool: str
    per_stroke_mm: float
    source: str  # "assumed..." until the shop has learned its own


ASSUMED = "assumed (common practice, no source) until the shop's own is learned"

# A long board with abrasive, coarse to fine
STARTING_FIGURES: tuple[StrokeFigure, ...] = (
    StrokeFigure("80 grit", 0.010, ASSUMED),
    StrokeFigure("120 grit", 0.006, ASSUMED),
    StrokeFigure("220 grit", 0.003, ASSUMED),
)

MOST_STEPS = 3  # stretches within stretches that a person is asked to follow
SHORTEST_MM = 50.0  # a shorter stretch is not stroked by itself: the next reading shows what is left
LIFTED_MM = 20.0  # a board is not lifted over less (common practice, no source)
LEAST_STROKES = 4  # a tool that would need fewer is too coarse


@dataclass(frozen=True)
class Strokes:
    """So many strokes of a tool between two places."""

    from_mm: float
    to_mm: float
    count: int
    tool: str
    step: int = 0  # strokes of one step are made together, on both ends say


@dataclass(frozen=True)
class Worked:
    """Strokes that were made between two readings of one joint."""

    before: Profile
    after: Profile
    strokes: tuple[Strokes, ...]


def stroke_counts(s_mm: Floats, strokes: Sequence[Strokes]) -> Floats:
    """(n,) how many strokes went over each place."""
    counts = np.zeros(s_mm.size)
    for one in strokes:
        counts += one.count * ((s_mm >= one.from_mm) & (s_mm <= one.to_mm))
    return counts


def learn(tool: str, worked: Sequence[Worked]) -> StrokeFigure:
    """A tool's figure per stroke from readings before and after.

    The gap grows by twice what a stroke takes wherever it went, and the leaves may have been laid together a
    little otherwise, which adds a straight line: strokes that all went from end to end teach nothing.

    Args:
        tool: its name; strokes of others are left out, so readings where two tools went are not used.
        worked: before and after, with the strokes between.

    Raises:
        Mistake: no readings teach this tool's figure, or they say that strokes add wood.
    """
    rows: list[Floats] = []
    changes: list[Floats] = []
    for one in worked:
        if not one.strokes or any(stroke.tool != tool for stroke in one.strokes):
            continue
        low = max(one.before.s_mm[0], one.after.s_mm[0])
        high = min(one.before.s_mm[-1], one.after.s_mm[-1])
        places = one.before.s_mm[(one.before.s_mm >= low) & (one.before.s_mm <= high)]
        if places.size < 3:
            continue
        line = np.column_stack([np.ones(places.size), places - places.mean()])
        counts = 2 * stroke_counts(places, one.strokes)
        change = one.after.at(places) - one.before.at(places)
        # what a straight line explains is taken out of both
        inverse = np.linalg.pinv(line)
        rows.append(counts - line @ (inverse @ counts))
        changes.append(change - line @ (inverse @ change))
    if not rows or float(np.abs(np.concatenate(rows)).max()) < 0.5:
        raise Mistake(
            f"no readings teach what a stroke of {tool} takes",
            do="read the joint before and after strokes over a part of its length",
        )
    counts, change = np.concatenate(rows), np.concatenate(changes)
    taken = float(counts @ change / (counts @ counts))
    left = change - taken * counts
    doubt = 2 * float(np.sqrt((left @ left) / max(left.size - 3, 1) / (counts @ counts)))
    if taken <= 0:
        raise Mistake(
            f"the readings say that strokes of {tool} add wood",
            do="check which reading came first, and that the strokes are where they were",
        )
    passes = sum(1 for one in worked if one.strokes and all(stroke.tool == tool for stroke in one.strokes))
    return StrokeFigure(tool, taken, f"learned from {passes} reading(s) before and after, +-{doubt:.4f} mm")


def _tool_for(depth_mm: float, figures: Sequence[StrokeFigure]) -> StrokeFigure:
    """The coarsest tool that takes at least `LEAST_STROKES` strokes; the finest for less."""
    coarse_first = sorted(figures, key=lambda figure: -figure.per_stroke_mm)
    for figure in coarse_first:
        if figure.per_stroke_mm * LEAST_STROKES <= depth_mm:
            return figure
    return coarse_first[-1]


def plan_strokes(
    s_mm: Floats, depth_mm: Floats, figures: Sequence[StrokeFigure] = STARTING_FIGURES
) -> tuple[Strokes, ...]:
    """The next strokes for a depth along the joint: step by step, the shortest stretches first.

    Places where less than half a stroke of the finest tool comes off are left alone.
    """
    if not figures:
        raise Mistake("no tool is known", do="give one tool and what a stroke of it takes")
    deepest = float(depth_mm.max())
    tool = _tool_for(deepest, figures)
    total = round(deepest / tool.per_stroke_mm)
    steps = min(total, MOST_STEPS)
    borders = np.round(np.linspace(0, total, steps + 1)).astype(int)
    found: list[Strokes] = []
    for step in range(steps):
        first, last = borders[steps - 1 - step], borders[steps - step]
        level = min(tool.per_stroke_mm * (first + last) / 2, 0.98 * deepest)
        runs = _by_hand(runs_above(s_mm, depth_mm, level), last_step=step == steps - 1)
        found += [Strokes(a, b, int(last - first), tool.tool, step) for a, b in runs]
    return tuple(found)


def _by_hand(runs: Sequence[Run], *, last_step: bool) -> list[Run]:
    """Stretches that a hand can stroke: none is left out for a few mm, none is too short.

    Where all of the last step's are short, the longest stays: something is to be taken.
    """
    joined: list[Run] = []
    for run in runs:
        if joined and run[0] - joined[-1][1] < LIFTED_MM:
            joined[-1] = (joined[-1][0], run[1])
        else:
            joined.append(run)
    long = [run for run in joined if run[1] - run[0] >= SHORTEST_MM]
    if long or not last_step or not joined:
        return long
    return [max(joined, key=lambda run: run[1] - run[0])]
