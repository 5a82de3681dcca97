"""What has been planed off a joint edge, against what may come off before something is short."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from seamlight.layout.opening import LeafPlacing, Opening
from seamlight.shop.tables import Planed

MACHINE_MM = 0.4  # a pass over the jointer or a cut by a rail; common practice, no source


@dataclass(frozen=True)
class PlanedRoom:
    """One leaf's joint edge, mm, counted where least is to come off: so the room is never told too large."""

    leaf: Literal["a", "b"]
    planed_mm: float
    to_go_mm: float  # until the joint line is reached there
    left_mm: float  # until something is short or struck; below 0: planed too far

    @property
    def passes_left(self) -> int:
        """Passes of 0.4 mm over a machine that are left."""
        return max(0, int(self.left_mm / MACHINE_MM + 1e-9))


def planed_room(
    opening: Opening, rows: Iterable[Planed], since: datetime | None
) -> tuple[PlanedRoom, PlanedRoom]:
    """Both leaves' tallies.

    Args:
        opening: as it is chosen; its planing is counted from the edge as photographed.
        rows: what was noted, any order.
        since: when the leaves were photographed; what was planed before shows in the picture.
    """
    counted = [row for row in rows if since is None or row.at >= since]
    return _room("a", opening.a, opening, counted), _room("b", opening.b, opening, counted)


def _room(leaf: Literal["a", "b"], placing: LeafPlacing, opening: Opening, rows: list[Planed]) -> PlanedRoom:
    planed = sum(row.mm for row in rows if row.leaf in (leaf, "both"))
    least = min(placing.planing_end1_mm, placing.planing_end2_mm)
    return PlanedRoom(leaf, planed, max(0.0, least - planed), least + opening.joint_room_mm - planed)
