"""What one leaf says: its flat picture, its grain, its rings, its flaws."""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.grain.field import Array, GrainField
from seamlight.grain.flaw import Flaw
from seamlight.photo.flat import FlatLeaf
from seamlight.units import MM_PER_INCH


@dataclass(frozen=True, eq=False)
class Thirds:
    """A figure for each third of the leaf's width; None where it could not be had."""

    left: float | None
    middle: float | None
    right: float | None


@dataclass(frozen=True, eq=False)
class EndGrain:
    """The ring-to-face angle along the width, 0..90, 90 quartered, as seen on the photographed face."""

    x_mm: Array  # (n,) in the leaf frame
    ring_to_face_deg: Array  # (n,), NaN where no ring is told
    thirds: Thirds
    quartered_edge: str | None  # "left" | "right": the long edge nearer quarter; None where too close to call


@dataclass(frozen=True, eq=False)
class Reading:
    """Everything `read` found on one leaf."""

    flat: FlatLeaf
    field: GrainField
    angle_deg: float | None  # mean over sound wood
    wander_mm: float | None  # greatest departure of a ring line from its straight fit
    spacing_mm: Thirds
    end: EndGrain | None
    flaws: tuple[Flaw, ...]
    warnings: tuple[str, ...] = ()


def lines_per_inch(spacing_mm: Thirds) -> Thirds:
    """Ring lines to the inch in each third, from the spacing square to the lines."""

    def per_inch(mm: float | None) -> float | None:
        return MM_PER_INCH / mm if mm else None

    return Thirds(per_inch(spacing_mm.left), per_inch(spacing_mm.middle), per_inch(spacing_mm.right))
