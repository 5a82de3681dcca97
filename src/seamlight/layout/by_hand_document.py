"""The JSON documents of a place chosen by hand."""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, Field

from seamlight.document import Document, Part
from seamlight.layout.by_hand import HandPlacing
from seamlight.layout.document import OpeningPart
from seamlight.layout.opening import Edge, Face

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


class JudgeDocument(Document):
    """One placing and what it comes to; `said` is the verdict as a sentence."""

    schema_: Literal["seamlight/judge/1"] = Field(default="seamlight/judge/1", alias="schema")
    placing: HandPlacingPart
    verdict: Literal["fits", "marginal", "short"]
    said: str
    opening: OpeningPart
