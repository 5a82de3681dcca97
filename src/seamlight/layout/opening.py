"""One way to open a pair, with the outline in its best place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from seamlight.layout.pair import Leaf, Registration
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points

Edge = Literal["left", "right"]
Face = Literal["sawn", "other"]
Zone = Literal["soundhole", "bridge", "fingerboard", "edge", "open"]


@dataclass(frozen=True)
class LayoutSettings:
    """What the maker or the shop chose. Lengths in mm."""

    use: Literal["top", "back"] = "top"
    match: Literal["book", "slip"] = "book"
    trim_mm: float = 3.0  # wanted beyond the outline across the grain
    end_trim_mm: float = 6.0  # wanted beyond its two ends
    joint_mm: float = 1.0  # the least taken off each joint edge
    most_slide_mm: float = 6.0  # a maker shifts a leaf about 1/4" at most (common practice, no source)
    most_tilt_deg: float = 3.0
    wedge_angle_deg: float | None = None


@dataclass(frozen=True, eq=False)
class LeafPlacing:
    """Where the outline and the joint line come to lie on one leaf, in that leaf's own frame."""

    joint_line_mm: Points  # (2, 2): neck end, tail end of the body with its end trims
    outline_mm: Points  # (n, 2), closed along the joint line
    planing_end1_mm: float
    planing_end2_mm: float
    planing_most_mm: float


@dataclass(frozen=True)
class Short:
    """Where the wood does not reach: along the body from the neck end."""

    leaf: Literal["a", "b"]
    by_mm: float
    from_mm: float
    to_mm: float


@dataclass(frozen=True)
class FlawInside:
    """A flaw that falls inside the outline, by its index in the leaf's list."""

    leaf: Literal["a", "b"]
    flaw: int
    zone: Zone


@dataclass(frozen=True)
class GrainInside:
    """The grain inside the outline, both leaves together, relative to the centre line. None where unread."""

    tilt_deg: float | None  # mean direction within 20 mm of the joint line over the body's length
    spread_deg: float | None
    lpi_joint: float | None
    lpi_middle: float | None
    lpi_edge: float | None
    ring_to_face_deg: float | None


@dataclass(frozen=True)
class Remedy:
    """Something that can be done when the outline does not fit, with its figures (mm)."""

    kind: Literal["smaller outline", "lower-bout wings", "slide", "centre strip", "open by the other edge"]
    text: str
    figures: tuple[tuple[str, int | float | str], ...] = ()


@dataclass(frozen=True, eq=False)
class Opening:
    """One opening with the outline in its best place, what it costs and what blocks it."""

    joint_edge: Edge  # of leaf A
    neck_end: Literal[1, 2]
    show_face: Face
    a_is: Edge
    fits: bool
    marginal: bool
    score: float  # 0..100
    parts: tuple[tuple[str, float, str], ...]  # the score's parts: name, points, in words
    reasons: tuple[str, ...]
    a: LeafPlacing
    b: LeafPlacing
    joint_tilt_deg: float
    slide_mm: float
    spare_mm: float
    end_spare_mm: float
    joint_room_mm: float
    short: tuple[Short, ...]
    flaws_inside: tuple[FlawInside, ...]
    grain: GrainInside
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True, eq=False)
class Layout:
    """All openings of a pair for one outline, best first; those that do not fit last."""

    a: Leaf
    b: Leaf
    registration: Registration
    outline: Outline
    settings: LayoutSettings
    openings: tuple[Opening, ...]
    warnings: tuple[str, ...] = ()
    stands_in: bool = False  # leaf B was not given: leaf A's mirror stands in for it
