"""The labels of the shop's own pairs."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy.orm import Session

from seamlight.sheets.labels import Label
from seamlight.sheets.pair_labels import LabelFacts, Which, pair_labels
from seamlight.shop.label_facts import has_leaves, joint_sides
from seamlight.shop.tables import Pair


def labels_of(session: Session, pairs: Iterable[Pair], address: str, which: Which = "both") -> list[Label]:
    """The labels of pairs, in the order given; what has no leaves gets its own label only.

    Args:
        session: to look up the chosen openings.
        pairs: what to label.
        address: what the shop's pages start with, as another device reaches them.
        which: the pair's own label, its leaves', or both.
    """
    found: list[Label] = []
    for pair in pairs:
        sides = joint_sides(session, pair.id) if has_leaves(pair) else None
        facts = LabelFacts(
            label=pair.label,
            kind=pair.kind,
            wood=pair.species_common or "",
            address=f"{address.rstrip('/')}/wood/pairs/{pair.id}",
            lies_at=pair.lies_at or "",
            bought=f"bought {pair.bought_on.day} {pair.bought_on:%b %Y}" if pair.bought_on else "",
            joint_a=sides.a if sides else None,
            joint_b=sides.b if sides else None,
        )
        found += pair_labels(facts, which if has_leaves(pair) else "pair")
    return found
