"""What stands on the labels of one pair: one for the pair, one for each leaf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.layout.document import LayoutDocument, LeafPlacingPart, OpeningPart
from seamlight.sheets.labels import Label, Side

Which = Literal["pair", "leaves", "both"]


@dataclass(frozen=True)
class LabelFacts:
    """What a pair's labels say; "" leaves a line out."""

    label: str
    kind: str
    wood: str
    address: str
    lies_at: str = ""
    bought: str = ""
    joint_a: Side | None = None
    joint_b: Side | None = None


def pair_labels(facts: LabelFacts, which: Which = "both") -> tuple[Label, ...]:
    """The labels of one pair, the pair's own first."""
    own = Label(facts.label, facts.address, _lines(f"{facts.kind}", facts.wood, facts.lies_at, facts.bought))
    leaves = tuple(
        Label(
            f"{facts.label} {name}",
            facts.address,
            _lines(f"leaf {name}, sawn face", "arrow to end 1", _joint(side), facts.wood, facts.kind),
            end_1_up=True,
            joint=side,
        )
        for name, side in (("A", facts.joint_a), ("B", facts.joint_b))
    )
    return {"pair": (own,), "leaves": leaves, "both": (own, *leaves)}[which]


def _joint(side: Side | None) -> str:
    return f"joint edge: {side}, the bar" if side else "joint edge: mark it"


def _lines(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)


def joint_sides(opening: OpeningPart, b_shows: Literal["sawn", "other"]) -> tuple[Side, Side]:
    """On which side each leaf's joint edge lies, its sawn face up and end 1 away.

    Leaf A's photograph shows its sawn face; leaf B's may show the other, and then left and right change
    places.
    """
    a, b = _side(opening.leaves.a), _side(opening.leaves.b)
    return a, b if b_shows == "sawn" else ("left" if b == "right" else "right")


def _side(placing: LeafPlacingPart) -> Side:
    joint = float(np.mean([x for x, _ in placing.joint_line_mm]))
    outline = np.asarray(placing.outline_mm)
    return "left" if joint < (outline[:, 0].min() + outline[:, 0].max()) / 2 else "right"


def sides_of(layout: LayoutDocument, opening: OpeningPart) -> tuple[Side, Side]:
    """The same from a layout's document and one of its openings."""
    return joint_sides(opening, layout.pair.b_shows)
