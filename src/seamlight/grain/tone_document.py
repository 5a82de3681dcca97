"""The JSON document of `tone`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, MaybeFigure
from seamlight.grain.tone import Tone
from seamlight.grain.tone_advice import Cause


class ToneDocument(Document):
    """Whether the two-tone swaps with the light.

    `contrast_pct`, lit from end 1 and from end 2: how much more light the left half sends back than the right
    one at the joint, percent; below 0 the right half is the lighter one. `runout_pct` is what the lamp's
    place changes to either side, `colour_pct` what stays the same.
    """

    schema_: Literal["seamlight/tone/1"] = Field(default="seamlight/tone/1", alias="schema")
    swaps: bool | None
    contrast_pct: tuple[MaybeFigure, MaybeFigure]
    cause: Cause
    runout_pct: MaybeFigure
    colour_pct: MaybeFigure
    advice: list[str]

    @classmethod
    def of(cls, tone: Tone) -> ToneDocument:
        """From a verdict."""
        return cls(
            warnings=list(tone.warnings),
            swaps=tone.swaps,
            contrast_pct=tone.contrast_pct,
            cause=tone.cause,
            runout_pct=tone.runout_pct,
            colour_pct=tone.colour_pct,
            advice=list(tone.advice),
        )
