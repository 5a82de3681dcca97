"""A leaf as the layout sees it, and how leaf B lies on leaf A's mirror."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import EndGrain
from seamlight.photo.flat import Points


@dataclass(frozen=True, eq=False)
class Leaf:
    """What the layout needs of one leaf, in its own leaf frame; built from a reading or typed in."""

    outline_mm: Points  # silhouette
    flaws: tuple[Flaw, ...] = ()
    other_flaws: tuple[Flaw, ...] = ()  # of the other face, already mirrored into this leaf's frame
    field: GrainField | None = None
    end: EndGrain | None = None
    scale_error_mm: float = 0.0
    width_mm: float = 0.0  # of the bounding box that the frame's origin belongs to
    length_mm: float = 0.0


@dataclass(frozen=True)
class Registration:
    """Where leaf B's picture comes to lie when mirrored onto leaf A.

    p_A = R(rotate) (m(p_B) - c) + c + (across, slide). m mirrors B's picture left to right about its middle
    (not where `b_shows == "other"`; after half a turn where `b_turned`) and lays its bounding box on A's:
    middles together across, end 1 together along. c is the middle of A's bounding box; R turns as angles
    count (+x as y grows).
    None: the figure does not fix it, and it counts as 0.
    """

    match: float  # 0..1, correlation of the figure after registration
    b_shows: Literal["sawn", "other"] = "sawn"
    b_turned: bool = False
    slide_mm: float | None = 0.0  # toward A's end 2
    across_mm: float | None = 0.0  # toward A's +x
    rotate_deg: float | None = 0.0
    warnings: tuple[str, ...] = ()
