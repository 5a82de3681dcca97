"""The JSON document of `seam` and `edge`. Lengths in mm from the neck end, MPa, N."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from seamlight.document import Document, Figure, MaybeFigure, Part
from seamlight.seam.advice import advise
from seamlight.seam.bench import Bench
from seamlight.seam.clamping import clamp_count
from seamlight.seam.meaning import Meaning, Measured
from seamlight.seam.profile import Floats
from seamlight.seam.shape import Shape
from seamlight.seam.verdict import Verdict

Series = list[Figure]


def _series(values: Floats | None) -> Any:
    return None if values is None else [float(v) for v in values]


class TakeOff(Part):
    """Wood to take off each edge, both planed together folded."""

    from_mm: Figure
    to_mm: Figure
    depth_mm: Figure


class StrokesPart(Part):
    """So many strokes between two places."""

    from_mm: Figure
    to_mm: Figure
    count: int
    tool: str


class PullTogether(Part):
    """What clamps must do; pressures are even ones across the joint.

    `pressure_mpa` takes each leaf as a deep beam whose section keeps its depth (the safe side);
    `yielding_mpa` lets the wood behind the edge give. Feasible, what is left for the glue and what is left
    pulling go by `pressure_mpa`, but by no more than 1.5 times `yielding_mpa`.
    """

    force_n: Figure
    pressure_mpa: Figure
    feasible: bool
    left_pulling_mpa: Figure
    left_pulling_at_mm: Figure
    yielding_mpa: Figure
    glue_wants_mpa: tuple[Figure, Figure]
    left_for_glue_mpa: Figure  # of the lower figure; below 0: none
    clamps: int


class SquarePart(Part):
    """From feelers on both faces; above 0: open on the front face, and more so toward the tail.

    `feelers_off_mm`: the feelers' gap less the light's where they differ most, shims and turning taken out.
    """

    out_of_square_deg: Figure
    out_of_square_mm: Figure
    wind_deg: Figure
    wind_mm: Figure
    feelers_off_mm: MaybeFigure = None
    feelers_off_at_mm: MaybeFigure = None


class ProgressPart(Part):
    """This joint's readings, oldest first, this one last."""

    widest_mm: Series
    ways: list[Literal["first", "better", "same", "worse"]]
    stop: bool


def _run(value: Any) -> Any:
    return tuple(float(v) for v in value)


RunPart = Annotated[tuple[Figure, Figure], BeforeValidator(_run)]


class SeamDocument(Document):
    """What a reading of the joint says and means."""

    schema_: Literal["seamlight/seam/1"] = Field(default="seamlight/seam/1", alias="schema")
    measured: Measured
    of: Literal["joint", "one-edge", "folded"] = "joint"
    length_mm: Figure
    s_mm: Series
    light: Series | None
    gap_mm: Series | None
    fit_gap_mm: Series | None
    error_mm: MaybeFigure
    shape: Shape
    widest_mm: MaybeFigure
    at_mm: Figure
    touching_mm: list[RunPart]
    take_off: list[TakeOff]
    strokes: list[StrokesPart]
    pull_together: PullTogether | None
    square: SquarePart | None
    progress: ProgressPart | None
    lower_bound: bool
    verdict: Verdict
    advice: list[str]

    @classmethod
    def of_meaning(cls, meaning: Meaning, bench: Bench) -> SeamDocument:
        """From what a reading means."""
        return cls(
            warnings=list(meaning.warnings),
            measured=meaning.measured,
            of=meaning.of,
            length_mm=meaning.length_mm,
            s_mm=_series(meaning.s_mm),
            light=_series(meaning.light),
            gap_mm=None if meaning.seen is None else _series(meaning.seen.gap_mm),
            fit_gap_mm=None if meaning.fit is None else _series(meaning.fit.gap_mm),
            error_mm=meaning.error_mm,
            shape=meaning.shape,
            widest_mm=meaning.widest_mm,
            at_mm=meaning.at_mm,
            touching_mm=list(meaning.touching),
            take_off=[
                TakeOff(from_mm=one.from_mm, to_mm=one.to_mm, depth_mm=one.depth_mm)
                for one in meaning.take_off
            ],
            strokes=[
                StrokesPart(from_mm=one.from_mm, to_mm=one.to_mm, count=one.count, tool=one.tool)
                for one in meaning.strokes
            ],
            pull_together=_pull_together(meaning, bench),
            square=_square(meaning),
            progress=_progress(meaning),
            lower_bound=meaning.lower_bound,
            verdict=meaning.verdict,
            advice=advise(meaning, bench),
        )


def _pull_together(meaning: Meaning, bench: Bench) -> PullTogether | None:
    pulls, wants = meaning.closing, meaning.wanted
    if pulls is None or wants is None:
        return None
    return PullTogether(
        force_n=pulls.force_n,
        pressure_mpa=pulls.firm.pressure_mpa,
        feasible=bool(meaning.feasible),
        left_pulling_mpa=pulls.safe.stays_mpa,
        left_pulling_at_mm=pulls.safe.at_mm,
        yielding_mpa=pulls.yielding.pressure_mpa,
        glue_wants_mpa=(wants.pressure_mpa.low, wants.pressure_mpa.high),
        left_for_glue_mpa=wants.left_for_glue_mpa,
        clamps=clamp_count(wants.force_low_n, meaning.length_mm, bench.width_mm),
    )


def _square(meaning: Meaning) -> SquarePart | None:
    if meaning.square is None:
        return None
    return SquarePart(
        out_of_square_deg=meaning.square.out_of_square_deg,
        out_of_square_mm=meaning.square.out_of_square_mm,
        wind_deg=meaning.square.wind_deg,
        wind_mm=meaning.square.wind_mm,
        feelers_off_mm=None if meaning.felt is None else meaning.felt.off_mm,
        feelers_off_at_mm=None if meaning.felt is None else meaning.felt.at_mm,
    )


def _progress(meaning: Meaning) -> ProgressPart | None:
    if meaning.progress is None:
        return None
    return ProgressPart(
        widest_mm=_series(meaning.progress.widest_mm),
        ways=list(meaning.progress.ways),
        stop=meaning.progress.stop,
    )
