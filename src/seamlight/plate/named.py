"""The three modes that matter for a free plate: twist, bending along, bending across."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from seamlight.plate.ritz import RitzMode

Name = Literal["twist", "along", "across"]
NAMES: tuple[Name, ...] = ("twist", "along", "across")
MIXED_FROM = 0.10  # share of the other bending from which along and across are called mixed


@dataclass(frozen=True, eq=False)
class NamedModes:
    """The three modes by name.

    Attributes:
        modes: the mode of each name.
        order: its place among the modes of its symmetry class, 0 the lowest.
        mixing: 0 where along and across are pure, 0.5 where each is half of both.
    """

    modes: dict[Name, RitzMode]
    order: dict[Name, int]
    mixing: float

    @property
    def mixed(self) -> bool:
        """Whether along and across have met."""
        return self.mixing > MIXED_FROM


def name_modes(even: Sequence[RitzMode], odd: Sequence[RitzMode]) -> NamedModes:
    """Name the modes of a plate.

    Args:
        even: those even along and across, rising; at least two.
        odd: those odd along and across, rising.
    """
    along = next((k for k, mode in enumerate(even) if mode.shares[0] > mode.shares[2]), 0)
    across = next((k for k, mode in enumerate(even) if mode.shares[2] > mode.shares[0]), 1)
    if along == across:
        along, across = 0, 1
    bent = even[along].shares[0], even[along].shares[2]
    other = even[across].shares[2], even[across].shares[0]
    mixing = max(min(pair) / sum(pair) for pair in (bent, other))
    return NamedModes(
        modes={"twist": odd[0], "along": even[along], "across": even[across]},
        order={"twist": 0, "along": along, "across": across},
        mixing=float(mixing),
    )
