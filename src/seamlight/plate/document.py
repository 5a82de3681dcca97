"""The JSON document that `tap` and `deflect` share."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure, Part
from seamlight.plate.meaning import radiation_coefficient, speed_m_s
from seamlight.plate.result import PlateResult
from seamlight.plate.thickness import Target


class PeakPart(Part):
    """One partial: Hz, level beside the loudest in dB, quality factor, mode of the plate, what it is."""

    hz: Figure
    level_db: Figure
    q: MaybeFigure
    mode: Literal["twist", "along", "across", "other"]
    hz_sd: MaybeFigure = None
    kind: Literal["wood", "hum", "room"] = "wood"


class SpreadPart(Part):
    """Standard deviations, percent."""

    e_along: MaybeFigure
    e_across: MaybeFigure
    g: MaybeFigure


class TargetPart(Part):
    """A thickness by one rule: mm, g, why; its standard deviation, what comes off each face, how, source."""

    rule: str
    thickness_mm: Figure
    weight_g: MaybeFigure
    why: str
    sd_mm: Figure
    tolerance_mm: Figure
    off_each_face_mm: Figure
    source: str
    how: list[str]


class SizePart(Part):
    """The piece as measured: mm, g; `width2_mm` at its other end."""

    length_mm: Figure
    width1_mm: Figure
    width2_mm: Figure
    thickness_mm: Figure
    weight_g: MaybeFigure


class MoisturePart(Part):
    """Moisture content that the day's air gives, and the constants at the shop's standard one."""

    moisture_pct: Figure
    standard_pct: Figure
    e_along_mpa: MaybeFigure
    e_across_mpa: MaybeFigure
    g_mpa: MaybeFigure
    density_kg_m3: MaybeFigure


class BesidePart(Part):
    """A figure at 12 % moisture beside the species' published mean and one standard deviation either side."""

    what: str
    value: Figure
    low: Figure
    mean: Figure
    high: Figure
    words: str
    source: str


class TapDocument(Document):
    """Constants of a plate or bar in MPa, losses as 1/Q, radiation coefficient in m4/(kg s), targets.

    `e_across_mpa` and the like are null where nothing told them; `warnings` says why. `g_mpa`, here and at
    the standard moisture, is the G that was told: a plate's in its plane, a bar's through its thickness.
    `effects_pct` states the air's moving mass beside the plate's, and what shear and the taper do to each
    frequency, percent.
    """

    schema_: Literal["seamlight/tap/1"] = Field(default="seamlight/tap/1", alias="schema")
    peaks: list[PeakPart]
    density_kg_m3: MaybeFigure
    e_along_mpa: MaybeFigure
    e_across_mpa: MaybeFigure
    g_mpa: MaybeFigure
    loss_along: MaybeFigure
    loss_across: MaybeFigure
    radiation_coefficient: MaybeFigure
    spread_pct: SpreadPart
    targets: list[TargetPart]
    stiffness_spread_pct: SpreadPart
    span_over_thickness: MaybeFigure
    way: Literal["taps", "deflection"]
    kind: Literal["plate", "bar"]
    size: SizePart
    speed_along_m_s: MaybeFigure
    nu_along: Figure
    nu_across: MaybeFigure
    sure: Figure
    mixed: bool
    effects_pct: dict[str, MaybeFigure]
    moisture: MoisturePart | None
    beside: list[BesidePart]
    notes: list[str]

    @classmethod
    def of(cls, result: PlateResult) -> TapDocument:
        """From a result."""
        along, density = result.e_along_mpa, result.density_kg_m3
        both = along is not None and density is not None
        return cls(
            warnings=list(result.warnings),
            peaks=[
                PeakPart(
                    hz=peak.hz, level_db=peak.level_db, q=peak.q, mode=mode, hz_sd=peak.hz_sd, kind=peak.kind
                )
                for peak, mode in result.peaks
            ],
            density_kg_m3=density,
            e_along_mpa=along,
            e_across_mpa=result.e_across_mpa,
            g_mpa=result.g_mpa,
            loss_along=result.loss_along,
            loss_across=result.loss_across,
            radiation_coefficient=radiation_coefficient(along or 0, density or 1) if both else None,
            spread_pct=SpreadPart(**result.spread_pct),
            targets=[_target(one) for one in result.targets],
            stiffness_spread_pct=_stiffness_spread(result),
            span_over_thickness=result.span_over_thickness,
            way=result.way,
            kind=result.kind,
            size=_size(result),
            speed_along_m_s=speed_m_s(along or 0, density or 1) if both else None,
            nu_along=result.elastic.nu_along,
            nu_across=None if result.e_across_mpa is None else result.elastic.nu_across,
            sure=result.sure,
            mixed=result.mixed,
            effects_pct=dict(result.effects_pct),
            moisture=_moisture(result),
            beside=[
                BesidePart(
                    what=row.what,
                    value=row.value,
                    low=row.low,
                    mean=row.mean,
                    high=row.high,
                    words=row.words,
                    source=row.source,
                )
                for row in result.beside
            ],
            notes=list(result.notes),
        )


def _target(target: Target) -> TargetPart:
    return TargetPart(
        rule=target.rule,
        thickness_mm=target.thickness_mm,
        weight_g=target.weight_g,
        why=target.why,
        sd_mm=target.sd_mm,
        tolerance_mm=target.tolerance_mm,
        off_each_face_mm=target.off_each_face_mm,
        source=target.source,
        how=list(target.how),
    )


def _stiffness_spread(result: PlateResult) -> SpreadPart:
    """Of E h^3, only where E was told."""
    along, across = result.stiffness_spread_pct
    return SpreadPart(
        e_along=along if result.e_along_mpa is not None else None,
        e_across=across if result.e_across_mpa is not None else None,
        g=None,
    )


def _size(result: PlateResult) -> SizePart:
    piece = result.piece
    return SizePart(
        length_mm=piece.length_mm,
        width1_mm=piece.width1_mm,
        width2_mm=piece.width2_mm,
        thickness_mm=piece.thickness_mm,
        weight_g=piece.weight_g or None,
    )


def _moisture(result: PlateResult) -> MoisturePart | None:
    at = result.moisture
    if at is None:
        return None
    return MoisturePart(
        moisture_pct=at.moisture_pct,
        standard_pct=at.standard_pct,
        e_along_mpa=at.e_along_mpa,
        e_across_mpa=at.e_across_mpa,
        g_mpa=at.g_mpa,
        density_kg_m3=at.density_kg_m3,
    )
