"""The best and the second-best way to give things to takers, as a whole.

Mixed integer programming by SciPy's HiGHS: first as many takers served as can be, then as many complete
groups, then the more urgent takers, then the most points. Each stage is held while the next is sought, so no
amount of points ever buys an empty place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Value:
    """What a way is worth, in the order in which it counts."""

    served: int
    complete: int
    urgency: int
    points: int

    @property
    def key(self) -> tuple[int, int, int, int]:
        """To compare two ways."""
        return self.served, self.complete, self.urgency, self.points


@dataclass(frozen=True)
class Way:
    """For each taker the thing it gets, or None."""

    gets: tuple[int | None, ...]
    value: Value


@dataclass(frozen=True, eq=False)
class Problem:
    """Takers and things.

    Attributes:
        points: (takers, things) whole points, at least 0; -1 where the thing can't serve.
        group: of each taker; a group is complete when all of its takers are served.
        urgency: of each taker, at least 0.
    """

    points: NDArray[np.int64]
    group: tuple[int, ...]
    urgency: tuple[int, ...]


def best_two(problem: Problem) -> tuple[Way, Way | None]:
    """The best way, and the best of all others; None where there is no other."""
    model = _model(problem)
    best = _solve(model, ())
    assert best is not None, "serving nobody is always possible"
    return best, _solve(model, (best,))


@dataclass(frozen=True, eq=False)
class _Model:
    """Columns: one for each candidate, one "nobody" for each taker, one "complete" for each group."""

    takers: int
    things: NDArray[np.int64]  # of each candidate
    who: NDArray[np.int64]
    stages: tuple[Array, ...]
    rows: csr_array
    low: Array
    high: Array


def _model(problem: Problem) -> _Model:
    who, things = _candidates(problem.points)
    takers, count = len(problem.group), len(who)
    groups = sorted(set(problem.group))
    size = count + takers + len(groups)
    nobody, complete = count + np.arange(takers), count + takers + np.arange(len(groups))

    place, column, weight = [who], [np.arange(count)], [np.ones(count)]  # each taker one thing or nobody
    place.append(np.arange(takers))
    column.append(nobody)
    weight.append(np.ones(takers))
    used, thing_row = np.unique(things, return_inverse=True)  # each thing to one taker at most
    place.append(takers + thing_row)
    column.append(np.arange(count))
    weight.append(np.ones(count))
    first = takers + len(used)
    of_group = np.array([groups.index(g) for g in problem.group], dtype=np.int64)
    for columns in (complete[of_group], nobody):  # complete only where none of its takers has nobody
        place.append(first + np.arange(takers))
        column.append(columns)
        weight.append(np.ones(takers))
    rows = csr_array(
        (np.concatenate(weight), (np.concatenate(place), np.concatenate(column))),
        shape=(first + takers, size),
    )
    low = np.concatenate([np.ones(takers), np.zeros(len(used) + takers)])
    high = np.ones(first + takers)

    urgent = np.asarray(problem.urgency, dtype=np.float64)
    stages = tuple(np.zeros(size) for _ in range(4))
    stages[0][:count] = 1
    stages[1][complete] = 1
    stages[2][:count] = urgent[who]
    stages[3][:count] = problem.points[who, things]
    return _Model(takers, things, who, stages, rows, low, high)


def _candidates(points: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Takers and things of all candidates: for n takers no more than the n + 1 best things of each.

    A way that gives a taker a thing beyond those leaves two of its n + 1 best free, since n - 1 others take
    the rest; swapping either in is worth no less and at least one of the two is a way not yet seen. So the
    best and the second best are both among these.
    """
    takers = len(points)
    found: list[tuple[int, int]] = []
    for taker, row in enumerate(points):
        able = np.flatnonzero(row >= 0)
        order = able[np.argsort(-row[able], kind="stable")][: takers + 1]
        found += [(taker, int(thing)) for thing in np.sort(order)]
    pairs = np.array(found, dtype=np.int64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _solve(model: _Model, barred: Sequence[Way]) -> Way | None:
    """The best way that is none of those barred."""
    held = [LinearConstraint(model.rows, model.low, model.high)]
    held += [_bar(model, way) for way in barred]
    chosen: Array | None = None
    for stage in model.stages:
        found = milp(
            -stage,
            integrality=np.ones(len(stage)),
            bounds=Bounds(0, 1),
            constraints=held,
            options={"mip_rel_gap": 0.0},
        )
        if found.x is None:
            return None
        chosen = np.round(found.x)
        held.append(LinearConstraint(csr_array(stage[None, :]), float(stage @ chosen) - 0.5, np.inf))
    assert chosen is not None
    return _way(model, chosen)


def _bar(model: _Model, way: Way) -> LinearConstraint:
    """At least one taker gets something else than in this way."""
    row = np.zeros(model.rows.shape[1])
    count = len(model.who)
    gets = np.array([-1 if thing is None else thing for thing in way.gets], dtype=np.int64)
    row[:count] = gets[model.who] == model.things
    row[count : count + model.takers] = gets == -1
    return LinearConstraint(csr_array(row[None, :]), -np.inf, model.takers - 1)


def _way(model: _Model, chosen: Array) -> Way:
    count = len(model.who)
    gets: list[int | None] = [None] * model.takers
    for taker, thing in zip(model.who[chosen[:count] > 0.5], model.things[chosen[:count] > 0.5], strict=True):
        gets[int(taker)] = int(thing)
    value = Value(*(round(float(stage @ chosen)) for stage in model.stages))
    return Way(tuple(gets), value)
