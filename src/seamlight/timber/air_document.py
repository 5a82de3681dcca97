"""The JSON document of `air`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure
from seamlight.timber.air import Air


class AirDocument(Document):
    """What wood settles at now and later, %, the change of width (mm, below 0 narrower), whether to glue."""

    schema_: Literal["seamlight/air/1"] = Field(default="seamlight/air/1", alias="schema")
    emc_pct: Figure
    to_emc_pct: MaybeFigure
    movement_mm: MaybeFigure
    glue_ok: bool
    reasons: list[str]

    @classmethod
    def of(cls, air: Air) -> AirDocument:
        """From what was judged."""
        return cls(
            warnings=list(air.warnings),
            emc_pct=air.emc_pct,
            to_emc_pct=air.to_emc_pct,
            movement_mm=air.movement_mm,
            glue_ok=air.glue.ok,
            reasons=list(air.glue.reasons),
        )
