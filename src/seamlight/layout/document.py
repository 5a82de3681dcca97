"""The JSON document of `layout`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure, Part, PointList, point_list
from seamlight.grain.document import FlawPart
from seamlight.grain.reading import Reading
from seamlight.layout.opening import Edge, Face, Layout, LeafPlacing, Opening, Zone
from seamlight.layout.sound import all_flaws
from seamlight.outline import widths
from seamlight.outline.shape import Outline


class PairPart(Part):
    """How leaf B lay and where its figure meets A's mirror; null where the figure does not fix it."""

    match: MaybeFigure
    b_shows: Face
    b_turned: bool
    slide_mm: MaybeFigure
    across_mm: MaybeFigure
    rotate_deg: MaybeFigure


class FlawsPart(Part):
    """Each leaf's flaws in its own frame: as read, then holes that no flaw names, then the other face's."""

    a: list[FlawPart]
    b: list[FlawPart]


class OutlinePart(Part):
    """The outline's name and main measures."""

    name: str
    length_mm: Figure
    upper_bout_mm: Figure
    waist_mm: Figure
    lower_bout_mm: Figure

    @classmethod
    def of(cls, outline: Outline) -> OutlinePart:
        """From an outline."""
        upper, waist, lower = widths(outline)
        return cls(
            name=outline.name,
            length_mm=outline.length_mm,
            upper_bout_mm=upper,
            waist_mm=waist,
            lower_bout_mm=lower,
        )


class PlaningPart(Part):
    """Wood planed off the joint edge."""

    end1: Figure
    end2: Figure
    most: Figure


class LeafPlacingPart(Part):
    """The joint line and outline on one leaf, in its own frame."""

    joint_line_mm: PointList
    outline_mm: PointList
    planing_mm: PlaningPart

    @classmethod
    def of(cls, placing: LeafPlacing) -> LeafPlacingPart:
        """From a placing."""
        return cls(
            joint_line_mm=point_list(placing.joint_line_mm),
            outline_mm=point_list(placing.outline_mm),
            planing_mm=PlaningPart(
                end1=placing.planing_end1_mm, end2=placing.planing_end2_mm, most=placing.planing_most_mm
            ),
        )


class LeavesPart(Part):
    """Both leaves' placings."""

    a: LeafPlacingPart
    b: LeafPlacingPart


class ShortPart(Part):
    """Where the wood does not reach, along the body from the neck end."""

    leaf: Literal["a", "b"]
    by_mm: Figure
    from_mm: Figure
    to_mm: Figure


class FlawInsidePart(Part):
    """A flaw inside the outline and the zone it falls in."""

    leaf: Literal["a", "b"]
    flaw: int
    zone: Zone


class LinesPerInchPart(Part):
    """Lines per inch inside the outline, from the joint outward."""

    joint: MaybeFigure
    middle: MaybeFigure
    edge: MaybeFigure


class GrainInsidePart(Part):
    """The grain inside the outline, relative to the centre line."""

    tilt_deg: MaybeFigure
    spread_deg: MaybeFigure
    lines_per_inch: LinesPerInchPart
    ring_to_face_deg: MaybeFigure


class ScorePart(Part):
    """One part of the score: points and what they stand for."""

    name: str
    points: Figure
    text: str


class OpeningPart(Part):
    """One opening with the outline in its best place."""

    joint_edge: Edge
    neck_end: Literal[1, 2]
    show_face: Face
    a_is: Edge
    fits: bool
    marginal: bool
    score: Figure
    score_parts: list[ScorePart]
    reasons: list[str]
    leaves: LeavesPart
    joint_tilt_deg: Figure
    slide_mm: Figure
    spare_mm: Figure
    end_spare_mm: Figure
    joint_room_mm: Figure
    short: list[ShortPart]
    flaws_inside: list[FlawInsidePart]
    grain: GrainInsidePart
    remedies: list[dict[str, str | int | float]]

    @classmethod
    def of(cls, opening: Opening) -> OpeningPart:
        """From an opening."""
        grain = opening.grain
        return cls(
            joint_edge=opening.joint_edge,
            neck_end=opening.neck_end,
            show_face=opening.show_face,
            a_is=opening.a_is,
            fits=opening.fits,
            marginal=opening.marginal,
            score=opening.score,
            score_parts=[ScorePart(name=n, points=p, text=t) for n, p, t in opening.parts],
            reasons=list(opening.reasons),
            leaves=LeavesPart(a=LeafPlacingPart.of(opening.a), b=LeafPlacingPart.of(opening.b)),
            joint_tilt_deg=opening.joint_tilt_deg,
            slide_mm=opening.slide_mm,
            spare_mm=opening.spare_mm,
            end_spare_mm=opening.end_spare_mm,
            joint_room_mm=opening.joint_room_mm,
            short=[
                ShortPart(leaf=s.leaf, by_mm=s.by_mm, from_mm=s.from_mm, to_mm=s.to_mm) for s in opening.short
            ],
            flaws_inside=[
                FlawInsidePart(leaf=f.leaf, flaw=f.flaw, zone=f.zone) for f in opening.flaws_inside
            ],
            grain=GrainInsidePart(
                tilt_deg=grain.tilt_deg,
                spread_deg=grain.spread_deg,
                lines_per_inch=LinesPerInchPart(
                    joint=grain.lpi_joint, middle=grain.lpi_middle, edge=grain.lpi_edge
                ),
                ring_to_face_deg=grain.ring_to_face_deg,
            ),
            remedies=[{"kind": r.kind, "text": r.text, **dict(r.figures)} for r in opening.remedies],
        )


class LayoutDocument(Document):
    """How to open a pair and where the outline goes; openings best first."""

    schema_: Literal["seamlight/layout/1"] = Field(default="seamlight/layout/1", alias="schema")
    pair: PairPart
    flaws: FlawsPart
    outline: OutlinePart
    openings: list[OpeningPart]

    @classmethod
    def of(cls, layout: Layout, a: Reading, b: Reading | None) -> LayoutDocument:
        """From a layout and the readings it rests on; without `b` the mirrored A stood in."""
        reg = layout.registration
        warnings = [*a.flat.warnings, *a.warnings]
        if b is not None:
            warnings += [*b.flat.warnings, *b.warnings]
        warnings += [*reg.warnings, *layout.outline.warnings, *layout.warnings]
        return cls(
            warnings=list(dict.fromkeys(warnings)),
            pair=PairPart(
                match=reg.match if b is not None else None,
                b_shows=reg.b_shows,
                b_turned=reg.b_turned,
                slide_mm=reg.slide_mm,
                across_mm=reg.across_mm,
                rotate_deg=reg.rotate_deg,
            ),
            flaws=FlawsPart(
                a=[FlawPart.of(f, a.flat) for f in all_flaws(layout.a)],
                b=(
                    [FlawPart.of(f, b.flat) for f in all_flaws(layout.b)]
                    if b is not None
                    else _stand_in_flaws(layout, a)
                ),
            ),
            outline=OutlinePart.of(layout.outline),
            openings=[OpeningPart.of(o) for o in layout.openings],
        )


def _stand_in_flaws(layout: Layout, a: Reading) -> list[FlawPart]:
    """The mirrored A's flaws in its own frame; their boxes are where A's picture shows them."""
    return [
        FlawPart.of(own, a.flat).model_copy(update={"outline_mm": point_list(mirrored.outline_mm)})
        for own, mirrored in zip(all_flaws(layout.a), all_flaws(layout.b), strict=True)
    ]
