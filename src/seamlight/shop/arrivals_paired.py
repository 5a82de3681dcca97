"""What came in, put together: which photographs are pairs, which show one leaf twice, which are alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seamlight.layout.couple import best_couples
from seamlight.layout.folder import pairs_by_name
from seamlight.layout.register import NONE_BELOW, PAIR_FROM
from seamlight.shop.arrivals_met import Came, Meetings, same_leaves

ALONE = "no partner found"
MATCHING = "matching…"


@dataclass(frozen=True)
class Paired:
    """Photographs that belong together, by their places in the list that was given."""

    a: int
    b: int | None
    says: str


def paired(leaves: Sequence[Came], known: Meetings) -> tuple[Paired, ...]:
    """Which leaves are pairs: by how their mirrored pictures match, or by names that end in a and b.

    Every leaf is in exactly one of them. A leaf photographed twice is paired once; equal files never are.
    """
    groups = same_leaves(leaves, known.met)
    place = {id(leaf): number for number, leaf in enumerate(leaves)}
    found: list[Paired] = []
    for members in groups:
        for number, leaf in enumerate(members[1:], 1):
            found.append(Paired(place[id(leaf)], None, _again(leaf, members[:number])))
    matches = _matches(groups, known)
    names = [members[0].name for members in groups]
    named = [(a, b) for a, b in pairs_by_name(names) if _sorted(a, b) in matches]
    taken = {number for couple in named for number in couple}
    likely = {
        couple: match for couple, match in matches.items() if match >= NONE_BELOW and not taken & set(couple)
    }
    couples = [*named, *best_couples(len(groups), likely)]
    for a, b in couples:
        says = _pair_says(matches[_sorted(a, b)])
        found.append(Paired(place[id(groups[a][0])], place[id(groups[b][0])], says))
    met = {number for couple in couples for number in couple}
    for number, members in enumerate(groups):
        if number not in met:
            says = ALONE if any(one.look in known.seen for one in members) else MATCHING
            found.append(Paired(place[id(members[0])], None, says))
    return tuple(sorted(found, key=lambda one: one.a))


def _matches(groups: Sequence[Sequence[Came]], known: Meetings) -> dict[tuple[int, int], float]:
    """The best match of each two leaves, by any of their photographs."""
    group_of = {leaf.look: number for number, members in enumerate(groups) for leaf in members}
    matches: dict[tuple[int, int], float] = {}
    for (one, other), met in known.met.items():
        if one in group_of and other in group_of and group_of[one] != group_of[other]:
            couple = _sorted(group_of[one], group_of[other])
            matches[couple] = max(matches.get(couple, 0.0), met.match)
    return matches


def _sorted(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _again(leaf: Came, before: Sequence[Came]) -> str:
    same = next((one for one in before if one.sha == leaf.sha), None)
    if same is not None:
        return f"the same photograph as {same.name}"
    return f"the same leaf as {before[0].name}, photographed once more"


def _pair_says(match: float) -> str:
    if match >= PAIR_FROM:
        return f"a pair: the mirrored pictures match {match:.2f}"
    if match >= NONE_BELOW:
        return f"perhaps a pair: the mirrored pictures match {match:.2f}; look before you confirm"
    return f"a pair by name, though the pictures match only {match:.2f}"
