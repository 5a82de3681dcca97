"""Pairs found in a folder: by their names where those say, else by matching mirrored pictures."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import PurePath

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.couple import best_couples
from seamlight.layout.figure import Figure
from seamlight.layout.glance import glance_at, likeness
from seamlight.layout.pair import Registration
from seamlight.layout.register import NONE_BELOW, register_figures

Couple = tuple[Figure, Figure]
Apply = Callable[[Callable[[Couple], Registration], Iterable[Couple]], Iterable[Registration]]

_WORTH_A_LOOK = 0.12  # likeness at a glance; below it lay no pair of the invented leaves it was chosen on
_NEAR_BEST = 0.6  # share of the best likeness of both leaves from which a couple is looked at closely
_UNMIRRORED = (
    0.15  # of the match: what agrees unmirrored may be the same leaf again, so a mirrored one goes first
)


@dataclass(frozen=True)
class FoundPairs:
    """Which leaves are pairs, by their places in the list that was given, and which are left alone."""

    pairs: tuple[tuple[int, int], ...]
    registrations: tuple[
        Registration, ...
    ]  # of each pair: how its second leaf lies on the first one's mirror
    alone: tuple[int, ...]
    warnings: tuple[str, ...] = ()


def find_pairs(leaves: Sequence[tuple[str, Figure]], apply: Apply = map) -> FoundPairs:
    """Pair the leaves of a folder.

    Args:
        leaves: file name and figure of each. Names that differ only in an a and a b at their end
            (walnut-3a.jpg, walnut-3b.jpg) are pairs whatever their figures say; others are matched.
        apply: runs the close looks; a process pool's `map` shares them among workers.

    Two photographs of one leaf are no pair: a warning names them, and each may still meet the true partner.
    Of all ways to couple the leaves the one with the greatest sum of matches is taken, so that one lucky
    likeness doesn't part two true pairs. Below a match of 0.4 leaves stay alone.
    """
    named = pairs_by_name([name for name, _ in leaves])
    taken = {index for pair in named for index in pair}
    free = [index for index in range(len(leaves)) if index not in taken]
    by_name = dict(
        zip(named, apply(_registered, [(leaves[a][1], leaves[b][1]) for a, b in named]), strict=True)
    )
    edges = _edges([leaves[index][1] for index in free], apply)
    likely = {
        edge: found.match - (_UNMIRRORED if found.b_shows == "other" else 0.0)
        for edge, found in edges.items()
        if found.match >= NONE_BELOW and not found.same_leaf
    }
    twice = [(free[i], free[j]) for (i, j), found in sorted(edges.items()) if found.same_leaf]
    by_figure = {(free[i], free[j]): edges[i, j] for i, j in best_couples(len(free), likely)}
    every = by_name | by_figure
    ordered = sorted(every)
    met = {index for pair in ordered for index in pair}
    return FoundPairs(
        pairs=tuple(ordered),
        registrations=tuple(every[pair] for pair in ordered),
        alone=tuple(index for index in range(len(leaves)) if index not in met),
        warnings=(*_names_that_lie(leaves, by_name), *(_twice(leaves, couple) for couple in twice)),
    )


def _names_that_lie(
    leaves: Sequence[tuple[str, Figure]], by_name: dict[tuple[int, int], Registration]
) -> list[str]:
    told = []
    for (a, b), found in by_name.items():
        names = f"{leaves[a][0]} and {leaves[b][0]} are a pair by name, but"
        if found.same_leaf:
            told.append(f"{names} show the same face of one leaf: photograph the other leaf")
        elif found.match < NONE_BELOW:
            told.append(f"{names} match only {found.match:.2f}: check that they belong together")
    return told


def _twice(leaves: Sequence[tuple[str, Figure]], couple: tuple[int, int]) -> str:
    one, other = (leaves[index][0] for index in couple)
    return f"{one} and {other} show the same face of one leaf: one of them is enough"


def pairs_by_name(names: Sequence[str]) -> tuple[tuple[int, int], ...]:
    """Places of names that differ only in a final a and b, set off by a digit, a sign, or as a capital.

    >>> pairs_by_name(["walnut-3a.jpg", "walnut-3b.jpg", "IMG_0012.jpg", "boa.jpg", "bob.jpg"])
    ((0, 1),)
    """
    found: dict[tuple[str, str], int] = {}
    for place, name in enumerate(names):
        path = PurePath(name)
        parts = re.fullmatch(r"(.*(?:[\d\W_]|[a-z](?=[AB]$)))([abAB])", path.stem)
        if parts:
            found.setdefault((str(path.with_name(parts[1].lower() + "x")), parts[2].lower()), place)
    pairs = [
        (place, found[stem, "b"])
        for (stem, side), place in found.items()
        if side == "a" and (stem, "b") in found
    ]
    return tuple(sorted(pairs))


def _edges(figures: list[Figure], apply: Apply) -> dict[tuple[int, int], Registration]:
    """Registrations of all leaves that look alike at a glance."""
    if len(figures) < 2:
        return {}
    wanted = _worth_a_look(likeness([glance_at(figure) for figure in figures]))
    found = apply(_registered, [(figures[i], figures[j]) for i, j in wanted])
    return dict(zip(wanted, found, strict=True))


def _worth_a_look(alike: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Couples that look alike, and little less so than either leaf's likeliest partner."""
    best = alike.max(axis=1)
    floor = np.maximum(_NEAR_BEST * np.maximum(best[:, None], best[None, :]), _WORTH_A_LOOK)
    rows, columns = np.nonzero(np.triu(alike >= floor, 1))
    return list(zip(rows.tolist(), columns.tolist(), strict=True))


def _registered(couple: Couple) -> Registration:
    return register_figures(*couple)
