"""What a page needs to judge a placing roughly by itself while a finger moves: geometry as plain numbers.

Everything lies in leaf A's frame. The exact judgement stays with `by_hand`; these are the figures it works
on, rounded to 0.001 mm.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.document import Part, PointList, point_list
from seamlight.layout.body import STRIP_MM, HalfBody, half_body
from seamlight.layout.by_hand import body_of, sides_of
from seamlight.layout.opening import Edge, LayoutSettings
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.side import Side, size_of
from seamlight.outline.measure import side_edge
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points

Row = list[float]
Affine = tuple[float, float, float, float, float, float]


class FlawPointsPart(Part):
    """A flaw of one leaf as points; one that does not count blocks nothing."""

    index: int
    counts: bool
    points_mm: PointList


class SidePart(Part):
    """One leaf laid into leaf A's frame.

    `to_a` carries the leaf's own mm there as an SVG matrix does: x' = a x + c y + e, y' = b x + d y + f.
    """

    to_a: Affine
    width_mm: float
    length_mm: float
    silhouette_mm: PointList
    wood_mm: PointList
    holes_mm: list[PointList]
    flaws: list[FlawPointsPart]


class HalfPart(Part):
    """One half of the body, counted from the joint and the neck end."""

    edge_mm: PointList
    strip_mm: Row  # greatest half width in strips of `strip_length_mm`
    half_mm: Row  # half width at v = 0, strip_length, 2 strip_length, ... and at the tail
    inner_mm: Row  # inner border of the edge band at the same places; -1: none
    neck_width_mm: float
    tail_width_mm: float


class ZonesPart(Part):
    """Where a flaw is hidden or cut away; 0 where the body has no such zone."""

    soundhole_y_mm: float
    soundhole_mm: float
    bridge_y_mm: float
    bridge_length_mm: float
    bridge_width_mm: float
    fingerboard_half_width_mm: float
    fingerboard_end_mm: float


class HandFactsPart(Part):
    """Both leaves, both halves and the settings."""

    outline: str
    use: Literal["top", "back"]
    match: Literal["book", "slip"]
    length_mm: float
    strip_length_mm: float
    trim_mm: float
    end_trim_mm: float
    joint_mm: float
    scale_error_mm: float
    middle_mm: tuple[float, float]
    registered_slide_mm: float
    zones: ZonesPart
    left: HalfPart
    right: HalfPart
    a: SidePart
    b: SidePart

    @classmethod
    def of(
        cls, a: Leaf, b: Leaf, registration: Registration, outline: Outline, settings: LayoutSettings
    ) -> HandFactsPart:
        """From what `place_by_hand` takes."""
        body = body_of(outline, settings.use)
        side_a, side_b = sides_of(a, b, registration)
        z = body.zones
        hidden = settings.use == "top"
        return cls(
            outline=body.name,
            use=settings.use,
            match=settings.match,
            length_mm=body.length_mm,
            strip_length_mm=STRIP_MM,
            trim_mm=settings.trim_mm,
            end_trim_mm=settings.end_trim_mm,
            joint_mm=settings.joint_mm,
            scale_error_mm=max(a.scale_error_mm, b.scale_error_mm),
            middle_mm=(float(side_a.middle_mm[0]), float(side_a.middle_mm[1])),
            registered_slide_mm=registration.slide_mm or 0.0,
            zones=ZonesPart(
                soundhole_y_mm=z.soundhole_y_mm,
                soundhole_mm=z.soundhole_mm if hidden else 0.0,
                bridge_y_mm=z.bridge_y_mm,
                bridge_length_mm=z.bridge_length_mm if hidden else 0.0,
                bridge_width_mm=z.bridge_width_mm if hidden else 0.0,
                fingerboard_half_width_mm=z.fingerboard_half_width_mm if hidden else 0.0,
                fingerboard_end_mm=z.fingerboard_end_mm if hidden else 0.0,
            ),
            left=_half(body, "left", settings),
            right=_half(body, "right", settings),
            a=_side(side_a, a),
            b=_side(side_b, b),
        )


def _half(outline: Outline, which: Edge, settings: LayoutSettings) -> HalfPart:
    half: HalfBody = half_body(outline, which, settings)
    return HalfPart(
        edge_mm=point_list(np.asarray(side_edge(outline, which))),
        strip_mm=_row(half.strip_mm),
        half_mm=_row(half.table_half_mm),
        inner_mm=_row(half.table_inner_mm),
        neck_width_mm=half.neck_width_mm,
        tail_width_mm=half.tail_width_mm,
    )


def _side(side: Side, leaf: Leaf) -> SidePart:
    width, length = size_of(leaf)
    return SidePart(
        to_a=_affine(side),
        width_mm=width,
        length_mm=length,
        silhouette_mm=point_list(side.silhouette_mm),
        wood_mm=point_list(side.wood_mm),
        holes_mm=[point_list(hole) for hole in side.holes_mm],
        flaws=[
            FlawPointsPart(index=f.index, counts=f.counts, points_mm=point_list(f.points_mm))
            for f in side.flaws
        ],
    )


def _affine(side: Side) -> Affine:
    origin, right, down = side.from_leaf(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return tuple(float(v) for v in (*(right - origin), *(down - origin), *origin))  # type: ignore[return-value]


def _row(values: NDArray[np.float64] | Points) -> Row:
    return [round(float(v), 3) for v in values]
