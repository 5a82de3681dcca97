"""The JSON documents of a place chosen by hand."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import ConfigDict, Field

from seamlight.document import Document, Part
from seamlight.layout.by_hand import HandPlacing
from seamlight.layout.document import LeafPlacingPart, OpeningPart
from seamlight.layout.opening import (
    Edge,
    Face,
    FlawInside,
    GrainInside,
    LeafPlacing,
    Opening,
    Remedy,
    Short,
)

ROUNDED_MM = 6e-4  # what a document's points may have been rounded by
_FAR_MM = 2000.0  # farther from the leaf's middle than any wood lies


class HandPlacingPart(Part):
    """A `HandPlacing`, its figures kept as they are: a choice that is kept must come back the same."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    joint_edge: Edge
    neck_end: Literal[1, 2]
    show_face: Face = "sawn"
    tilt_deg: float = Field(ge=-45, le=45)
    offset_mm: float = Field(ge=-_FAR_MM, le=_FAR_MM)
    shift_mm: float = Field(ge=-_FAR_MM, le=_FAR_MM)
    slide_mm: float = Field(ge=-_FAR_MM, le=_FAR_MM)
    tilt_b_deg: float | None = Field(default=None, ge=-45, le=45)
    offset_b_mm: float | None = Field(default=None, ge=-_FAR_MM, le=_FAR_MM)

    @classmethod
    def of(cls, placing: HandPlacing) -> HandPlacingPart:
        """From a placing."""
        return cls(**vars(placing))

    def placing(self) -> HandPlacing:
        """The placing."""
        return HandPlacing(**self.model_dump())


def opening_of_part(part: OpeningPart) -> Opening:
    """The opening that a document tells of."""
    grain, lines = part.grain, part.grain.lines_per_inch
    return Opening(
        joint_edge=part.joint_edge,
        neck_end=part.neck_end,
        show_face=part.show_face,
        a_is=part.a_is,
        fits=part.fits,
        marginal=part.marginal,
        score=part.score,
        parts=tuple((one.name, one.points, one.text) for one in part.score_parts),
        reasons=tuple(part.reasons),
        a=_leaf_placing(part.leaves.a),
        b=_leaf_placing(part.leaves.b),
        joint_tilt_deg=part.joint_tilt_deg,
        slide_mm=part.slide_mm,
        spare_mm=part.spare_mm,
        end_spare_mm=part.end_spare_mm,
        joint_room_mm=part.joint_room_mm,
        short=tuple(Short(one.leaf, one.by_mm, one.from_mm, one.to_mm) for one in part.short),
        flaws_inside=tuple(FlawInside(one.leaf, one.flaw, one.zone) for one in part.flaws_inside),
        grain=GrainInside(
            grain.tilt_deg, grain.spread_deg, lines.joint, lines.middle, lines.edge, grain.ring_to_face_deg
        ),
        remedies=tuple(_remedy(one) for one in part.remedies),
    )


def _leaf_placing(part: LeafPlacingPart) -> LeafPlacing:
    planing = part.planing_mm
    return LeafPlacing(
        np.array(part.joint_line_mm), np.array(part.outline_mm), planing.end1, planing.end2, planing.most
    )


def _remedy(said: dict[str, str | int | float]) -> Remedy:
    figures = tuple((name, value) for name, value in said.items() if name not in ("kind", "text"))
    return Remedy(said["kind"], str(said["text"]), figures)  # type: ignore[arg-type]


class JudgeDocument(Document):
    """One placing and what it comes to; `said` is the verdict as a sentence."""

    schema_: Literal["seamlight/judge/1"] = Field(default="seamlight/judge/1", alias="schema")
    placing: HandPlacingPart
    verdict: Literal["fits", "marginal", "short"]
    said: str
    opening: OpeningPart
