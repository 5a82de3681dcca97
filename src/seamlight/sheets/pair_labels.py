"""What stands on the labels of one pair: one for the pair, one for each leaf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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
    return f"joint edge: {side}" if side else "joint edge: mark it"


def _lines(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)
