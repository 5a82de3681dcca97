"""The best way to couple things two by two: the greatest sum of weights, no thing in two couples."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

Edge = tuple[int, int]

_EXACT = 14  # things hanging together that are still coupled exactly


def best_couples(count: int, weights: Mapping[Edge, float]) -> list[Edge]:
    """Couples (i, j), i < j, out of `weights`, whose weights sum to the most.

    Things that hang together are few in a rack (the leaves of one log), and each such group is solved on its
    own, exactly. A group of more than 14 is coupled heaviest first, then mended by swaps of two couples.

    >>> best_couples(4, {(0, 1): 0.9, (1, 2): 0.95, (2, 3): 0.9})
    [(0, 1), (2, 3)]
    """
    couples: list[Edge] = []
    for group in _groups(count, weights):
        inside = {edge: weight for edge, weight in weights.items() if edge[0] in group}
        couples += _exact(group, inside) if len(group) <= _EXACT else _mended(inside)
    return sorted(couples)


def _groups(count: int, weights: Mapping[Edge, float]) -> list[list[int]]:
    """Things linked by any weight, directly or through others."""
    leader = list(range(count))

    def lead(i: int) -> int:
        while leader[i] != i:
            i = leader[i]
        return i

    for i, j in weights:
        leader[lead(i)] = lead(j)
    groups: dict[int, list[int]] = {}
    for i in range(count):
        groups.setdefault(lead(i), []).append(i)
    return [group for group in groups.values() if len(group) > 1]


def _exact(group: list[int], weights: Mapping[Edge, float]) -> list[Edge]:
    """Every way to couple the group, each set of things left over solved once."""

    @cache
    def best(left: frozenset[int]) -> tuple[float, tuple[Edge, ...]]:
        if len(left) < 2:
            return 0.0, ()
        first = min(left)
        rest = left - {first}
        found = best(rest)
        for other in rest:
            weight = weights.get((first, other))
            if weight is not None:
                total, couples = best(rest - {other})
                found = max(found, (total + weight, (*couples, (first, other))))
        return found

    return list(best(frozenset(group))[1])


def _mended(weights: Mapping[Edge, float]) -> list[Edge]:
    """Heaviest first; then any two couples give way to two others that weigh more."""
    couples: list[Edge] = []
    taken: set[int] = set()
    for edge in sorted(weights, key=lambda edge: -weights[edge]):
        if not taken & set(edge):
            couples.append(edge)
            taken |= set(edge)

    def weight(i: int, j: int) -> float:
        return weights.get((min(i, j), max(i, j)), -1.0)

    better = True
    while better:
        better = False
        for p in range(len(couples)):
            for q in range(p):
                (a, b), (c, d) = couples[p], couples[q]
                for one, other in (((a, c), (b, d)), ((a, d), (b, c))):
                    if weight(*one) + weight(*other) > weights[couples[p]] + weights[couples[q]] + 1e-9 and (
                        weight(*one) >= 0 and weight(*other) >= 0
                    ):
                        couples[p], couples[q] = (min(one), max(one)), (min(other), max(other))
                        better = True
                        break
    return couples
