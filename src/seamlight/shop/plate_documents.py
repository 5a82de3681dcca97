"""What is kept of a thickness map and of a brace."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure


class ThicknessDocument(Document):
    """Calliper readings of one piece beside a target; mm. Readings are (along, across, thickness)."""

    schema_: Literal["seamlight/thickness/1"] = Field(default="seamlight/thickness/1", alias="schema")
    readings: list[tuple[Figure, Figure, Figure]]
    target_mm: Figure
    left_mm: list[Figure]
    stiff_mm: Figure  # the even thickness of the same stiffness
    length_mm: Figure
    width_mm: Figure
    lines: list[str]


class BraceDocument(Document):
    """A brace from a blank: stiffness E I in N mm2, mm, g; E in MPa with its spread in percent."""

    schema_: Literal["seamlight/brace/1"] = Field(default="seamlight/brace/1", alias="schema")
    e_mpa: Figure
    spread_pct: MaybeFigure
    density_kg_m3: Figure
    section: str
    width_mm: Figure
    height_mm: Figure
    length_mm: Figure
    stiffness_n_mm2: Figure  # at its highest
    wanted_n_mm2: MaybeFigure
    even_height_mm: Figure
    weight_g: Figure
    s_mm: list[Figure]  # along the brace, where heights are given; straight between
    heights_mm: list[Figure]
    lines: list[str]
