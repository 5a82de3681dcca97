"""How photographs that came in meet one another: kept, so that only new couples are ever looked at.

The looking itself is pure of the shop's memory, so that a worker process can do it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from seamlight.layout.figure import Figure
from seamlight.layout.folder import find_pairs, pairs_by_name
from seamlight.layout.pair import Registration
from seamlight.layout.register import register_figures
from seamlight.mistake import Mistake
from seamlight.shop.look import look_from_bytes
from seamlight.shop.made import Made

KEPT_AS = "matches.json"
Couple = tuple[str, str]  # the keys of two looks, in the order of their letters
Compute = Callable[..., Any]  # has a call computed, beside the server or here


@dataclass(frozen=True)
class Came:
    """A leaf that came in: a photograph's look by its key, the file it is of, what that was called."""

    look: str
    sha: str
    name: str
    path: Path


@dataclass(frozen=True)
class Met:
    """Two photographs seen side by side."""

    match: float  # 0..1, of the mirrored pictures
    same_leaf: bool  # both show one face of one leaf


@dataclass(frozen=True)
class Meetings:
    """Which looks were compared with all others there were, and how those met that were worth it."""

    seen: frozenset[str] = frozenset()
    met: Mapping[Couple, Met] = field(default_factory=dict)


def meetings(made: Made) -> Meetings:
    """What was kept; nothing where there is nothing, or it cannot be read."""
    try:
        said = json.loads(made.path(KEPT_AS).read_bytes())
        met = {(a, b): Met(float(match), bool(same)) for a, b, match, same in said["met"]}
        return Meetings(frozenset(map(str, said["seen"])), met)
    except (OSError, ValueError, KeyError, TypeError):
        return Meetings()


def keep_meetings(made: Made, found: Meetings) -> None:
    """Keep it; it can be made again."""
    met = [[a, b, one.match, one.same_leaf] for (a, b), one in sorted(found.met.items())]
    made.keep(KEPT_AS, json.dumps({"seen": sorted(found.seen), "met": met}).encode())


def meet_all(
    leaves: Sequence[Came],
    before: Meetings,
    compute: Compute,
    told: Callable[[Meetings, int, int], None] = lambda found, done, of: None,
) -> Meetings:
    """Compare all leaves, where that was not done before.

    Args:
        leaves: one for each look, oldest first.
        before: what is known of them.
        compute: has `worth_meeting` and `meet` computed.
        told: after each couple: what is known so far, how many are done, of how many.
    """
    paths = {leaf.look: leaf.path for leaf in leaves}
    met = {couple: one for couple, one in before.met.items() if set(couple) <= set(paths)}
    while True:
        known = Meetings(before.seen & set(paths), met)
        firsts = [members[0] for members in same_leaves(leaves, met)]
        worth = compute(worth_meeting, [(leaf.name, leaf.path) for leaf in firsts])
        new = [couple for i, j in worth if (couple := couple_of(firsts[i].look, firsts[j].look)) not in met]
        for done, couple in enumerate(new, 1):
            met[couple] = compute(meet, *(paths[look] for look in couple))
            told(known, done, len(new))
        # Photographs of one leaf hide its partner from one another: they are looked at again as one.
        if not any(met[couple].same_leaf for couple in new):
            return Meetings(frozenset(paths), met)


def couple_of(one: str, other: str) -> Couple:
    """Two looks as they are kept."""
    return (one, other) if one < other else (other, one)


def same_leaves(leaves: Sequence[Came], met: Mapping[Couple, Met]) -> list[list[Came]]:
    """Photographs of one leaf together, each group and all groups in the order that was given."""
    leader = list(range(len(leaves)))

    def lead(i: int) -> int:
        while leader[i] != i:
            i = leader[i]
        return i

    for i, one in enumerate(leaves):
        for j in range(i):
            same = met.get(couple_of(one.look, leaves[j].look))
            if one.sha == leaves[j].sha or one.look == leaves[j].look or (same and same.same_leaf):
                first, last = sorted((lead(i), lead(j)))
                leader[last] = first
    groups: dict[int, list[Came]] = {}
    for i, one in enumerate(leaves):
        groups.setdefault(lead(i), []).append(one)
    return list(groups.values())


def worth_meeting(leaves: Sequence[tuple[str, Path]]) -> list[tuple[int, int]]:
    """Which leaves, by name and look, could belong together: told by their names, or alike at a glance.

    Leaves that are pairs by name are looked at with all others, too: one may be photographed twice.

    Raises:
        Mistake: a look is not kept any more.
    """
    figures = [_figure(str(path)) for _, path in leaves]
    place = {id(figure): number for number, figure in enumerate(figures)}
    wanted = [(a, b) if a < b else (b, a) for a, b in pairs_by_name([name for name, _ in leaves])]

    def noted(
        look: Callable[[tuple[Figure, Figure]], Registration], couples: Iterable[tuple[Figure, Figure]]
    ) -> list[Registration]:
        listed = [(place[id(a)], place[id(b)]) for a, b in couples]
        wanted.extend(listed)
        return [Registration(0.0) for _ in listed]

    find_pairs([(str(number), figure) for number, figure in enumerate(figures)], noted)
    return list(dict.fromkeys(wanted))


def meet(a: Path, b: Path) -> Met:
    """How two looks meet; takes a good part of a second.

    Raises:
        Mistake: one of them is not kept any more.
    """
    found = register_figures(_figure(str(a)), _figure(str(b)))
    return Met(found.match, found.same_leaf)


@lru_cache(maxsize=64)
def _figure(path: str) -> Figure:
    try:
        figure = look_from_bytes(Path(path).read_bytes()).figure
    except OSError as error:
        raise Mistake("is not kept any more", where="look", do="look at the photograph again") from error
    if figure is None:
        raise Mistake("has no leaf", where="look", do="look at the photograph again")
    return figure
