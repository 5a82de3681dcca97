"""The JSON document of `read`."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure, Part, PointList, point_list
from seamlight.grain.endgrain import QUARTERED_FROM_DEG, is_quartered
from seamlight.grain.flaw import Flaw, FlawKind
from seamlight.grain.reading import Reading, Thirds, lines_per_inch
from seamlight.photo.flat import FlatLeaf


class LeafPart(Part):
    """The leaf's size and silhouette, mm in the leaf frame."""

    length_mm: Figure
    width_end1_mm: Figure
    width_end2_mm: Figure
    outline_mm: PointList


class ScalePart(Part):
    """How the scale was found; the error is over the leaf's length."""

    how: Literal["tags", "px", "dpi", "size"]
    px_per_mm: Figure
    error_mm: Figure


class ThirdsPart(Part):
    """A figure for each third of the width."""

    left: MaybeFigure
    middle: MaybeFigure
    right: MaybeFigure

    @classmethod
    def of(cls, thirds: Thirds) -> ThirdsPart:
        """From the reading's thirds."""
        return cls(left=thirds.left, middle=thirds.middle, right=thirds.right)


class QuarterSawnPart(Part):
    """Whether each third counts as quarter-sawn from the shop's own threshold on; usages differ."""

    from_deg: Figure
    left: bool | None
    middle: bool | None
    right: bool | None

    @classmethod
    def of(cls, thirds: Thirds, from_deg: float) -> QuarterSawnPart:
        """From the ring-to-face angle of each third."""

        def counts(angle_deg: float | None) -> bool | None:
            return None if angle_deg is None else is_quartered(angle_deg, from_deg)

        return cls(
            from_deg=from_deg,
            left=counts(thirds.left),
            middle=counts(thirds.middle),
            right=counts(thirds.right),
        )


class GrainPart(Part):
    """The grain over sound wood; `ring_to_face_deg` only where an end was photographed."""

    angle_deg: MaybeFigure
    wander_mm: MaybeFigure
    spacing_mm: ThirdsPart
    lines_per_inch: ThirdsPart
    ring_to_face_deg: ThirdsPart | None
    quarter_sawn: QuarterSawnPart | None


class FlawPart(Part):
    """One flaw: its outline in the leaf frame, its box in the photograph after the EXIF turn."""

    kind: FlawKind
    outline_mm: PointList
    box_px: tuple[Figure, Figure, Figure, Figure]
    sure: Figure

    @classmethod
    def of(cls, flaw: Flaw, flat: FlatLeaf) -> FlawPart:
        """From a flaw and the flat picture it was found in."""
        px = flat.to_picture.to_photo(np.asarray(flaw.outline_mm, dtype=np.float64))
        (x0, y0), (x1, y1) = px.min(axis=0), px.max(axis=0)
        return cls(
            kind=flaw.kind, outline_mm=point_list(flaw.outline_mm), box_px=(x0, y0, x1, y1), sure=flaw.sure
        )


class ReadDocument(Document):
    """What one leaf says."""

    schema_: Literal["seamlight/read/1"] = Field(default="seamlight/read/1", alias="schema")
    leaf: LeafPart
    scale: ScalePart
    grain: GrainPart
    flaws: list[FlawPart]

    @classmethod
    def of(cls, reading: Reading, quarter_from_deg: float = QUARTERED_FROM_DEG) -> ReadDocument:
        """From a reading; wood counts as quartered from `quarter_from_deg`, ring to face."""
        flat = reading.flat
        return cls(
            warnings=list(dict.fromkeys((*flat.warnings, *reading.warnings))),
            leaf=LeafPart(
                length_mm=flat.length_mm,
                width_end1_mm=flat.width_end1_mm,
                width_end2_mm=flat.width_end2_mm,
                outline_mm=point_list(flat.outline_mm),
            ),
            scale=ScalePart(how=flat.scale.how, px_per_mm=flat.scale.px_per_mm, error_mm=flat.scale.error_mm),
            grain=GrainPart(
                angle_deg=reading.angle_deg,
                wander_mm=reading.wander_mm,
                spacing_mm=ThirdsPart.of(reading.spacing_mm),
                lines_per_inch=ThirdsPart.of(lines_per_inch(reading.spacing_mm)),
                ring_to_face_deg=ThirdsPart.of(reading.end.thirds) if reading.end else None,
                quarter_sawn=QuarterSawnPart.of(reading.end.thirds, quarter_from_deg)
                if reading.end
                else None,
            ),
            flaws=[FlawPart.of(flaw, flat) for flaw in reading.flaws],
        )
