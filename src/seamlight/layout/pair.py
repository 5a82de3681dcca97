"""A leaf as the layout sees it, and how leaf B lies on leaf A's mirror."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely import Polygon, make_valid

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import EndGrain, Reading
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

    @classmethod
    def from_reading(cls, reading: Reading, other: tuple[Flaw, ...] = ()) -> Leaf:
        """A read leaf, with the flaws of its other face where those were carried into its frame.

        Through holes of the silhouette that no flaw stands for become flaws, after those that were read.
        """
        flat = reading.flat
        outline = np.asarray(flat.outline_mm, dtype=np.float64)
        width, length = (float(far) for far in outline.max(axis=0))
        return cls(
            outline_mm=outline,
            flaws=reading.flaws + _unnamed_holes(flat.holes_mm, reading.flaws),
            other_flaws=other,
            field=reading.field,
            end=reading.end,
            scale_error_mm=flat.scale.error_mm,
            width_mm=width,
            length_mm=length,
        )


def _unnamed_holes(holes_mm: tuple[Points, ...], flaws: tuple[Flaw, ...]) -> tuple[Flaw, ...]:
    named = [make_valid(Polygon(f.outline_mm)) for f in flaws if f.kind == "hole"]
    return tuple(
        Flaw("hole", hole, 1.0)
        for hole in holes_mm
        if len(hole) >= 3
        and not any(found.intersects(Polygon(hole).representative_point()) for found in named)
    )


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
    same_leaf: bool = False  # the two pictures show one face of one leaf
    warnings: tuple[str, ...] = ()
