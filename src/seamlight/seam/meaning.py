"""What a reading of the joint means: shape, what to take off, what clamps can do, whether to glue.

In: a light reading or feeler readings, and the bench. Out: `Meaning`, all of it in the seam frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.mistake import Mistake
from seamlight.seam.bench import Bench
from seamlight.seam.clamping import Wanted, wanted
from seamlight.seam.closing import Closing, can_be_clamped, closed_already, closing
from seamlight.seam.light_reading import FULL_LIGHT_MM, Bools, LightReading
from seamlight.seam.places import place_words
from seamlight.seam.profile import TOUCHING_MM, Floats, Profile, fit_gap
from seamlight.seam.progress import Progress, progress
from seamlight.seam.readings import Of, Readings, slips
from seamlight.seam.shape import Run, Shape, runs_above, shape_of, shape_of_gap, touching
from seamlight.seam.square import Felt, Square, square_of
from seamlight.seam.strokes import Strokes, plan_strokes
from seamlight.seam.take_off import Stretch, depth_mm, stretches
from seamlight.seam.verdict import Verdict, verdict_of
from seamlight.units import Unit

ENDS_MM = 10.0  # the contract: there the shims' light is read
SHIM_LIGHT = 0.1  # of the shims' light: what an uneven lamp may bend a straight joint's light by (our choice)
SHORT_MM = 250.0  # half of a small body with its trims (common practice, no source)

Measured = Literal["width", "relative", "readings"]


@dataclass(frozen=True, eq=False)
class Meaning:
    """A joint, read and understood. None where the reading cannot tell; warnings say why."""

    measured: Measured
    of: Of
    length_mm: float
    s_mm: Floats  # (n,)
    light: Floats | None  # (n,) 0..1
    seen: Profile | None
    fit: Profile | None
    error_mm: float | None
    shape: Shape
    widest_mm: float | None
    at_mm: float
    touching: tuple[Run, ...]
    take_off: tuple[Stretch, ...]
    deepest_mm: float | None  # the most that comes off each edge
    strokes: tuple[Strokes, ...]
    closing: Closing | None
    wanted: Wanted | None
    feasible: bool | None
    square: Square | None
    progress: Progress | None
    verdict: Verdict
    lower_bound: bool
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    felt: Felt | None = None  # feelers on both faces against the light


def judge_gap(
    seen: Profile,
    bench: Bench,
    *,
    measured: Measured = "readings",
    of: Of = "joint",
    length_mm: float | None = None,
    light: Floats | None = None,
    square: Square | None = None,
    lower_bound: bool = False,
    warnings: Sequence[str] = (),
) -> Meaning:
    """What a gap along the joint means.

    Raises:
        Mistake: a leaf that no one has, or no such species or glue.
    """
    fit = fit_gap(seen)
    shape = shape_of_gap(fit)
    widest, at = float(fit.gap_mm.max()), float(fit.s_mm[np.argmax(fit.gap_mm)])
    if square is not None and not square.is_straight and abs(square.wind_mm) / 2 >= widest:
        # laid flat and turned for the best, the faces open by half the wind at either end
        shape, widest, at = "wind", abs(square.wind_mm) / 2, float(fit.s_mm[0])
    depth = depth_mm(fit)
    leaf = bench.leaf(length_mm or fit.length_mm)
    # what is left of a closed joint's gap is the reading's noise: nothing pulls
    pulls = closed_already(leaf) if shape == "closed" else closing(fit, leaf)
    closing_mpa = pulls.safe.pressure_mpa
    wants = wanted(leaf, bench.glue, closing_mpa)
    feasible = can_be_clamped(shape) and wants.enough
    history = progress((*bench.before, fit))
    open_at_all = shape not in ("closed", "wind")
    strokes = plan_strokes(fit.s_mm, depth, bench.figures) if open_at_all else ()
    verdict = verdict_of(
        shape=shape,
        widest_mm=widest,
        error_mm=fit.error_mm,
        closing_mpa=closing_mpa,
        wants=wants,
        feasible=feasible,
        square=square,
        too_deep=bench.room_mm is not None and float(depth.max()) > bench.room_mm,
        strokes=sum(one.count for one in strokes),
        stop=history.stop,
    )
    return Meaning(
        measured=measured,
        of=of,
        length_mm=length_mm or fit.length_mm,
        s_mm=seen.s_mm,
        light=light,
        seen=seen,
        fit=fit,
        error_mm=fit.error_mm,
        shape=shape,
        widest_mm=widest,
        at_mm=at,
        touching=touching(fit),
        take_off=stretches(fit.s_mm, depth, fit.error_mm) if open_at_all else (),
        deepest_mm=float(depth.max()) if open_at_all else 0.0,
        # none beside a verdict for glue, for the machine, or beyond the room that is left
        strokes=strokes if verdict == "a few strokes" else (),
        closing=pulls,
        wanted=wants,
        feasible=feasible,
        square=square,
        progress=history,
        verdict=verdict,
        lower_bound=lower_bound,
        cautions=bench.cautions,
        warnings=tuple(dict.fromkeys(warnings)),
    )


def judge_readings(
    readings: Readings, bench: Bench, *, of: Of = "joint", length_mm: float | None = None
) -> Meaning:
    """What straightedge and feeler readings mean.

    Read on one edge, the other is taken as straight. Read on both folded edges together, the joint opens
    twice as far, and what they lean cancels.

    Raises:
        Mistake: readings beyond the joint's length, and those of `judge_gap`.
    """
    warnings = [*slips(readings, bench.unit), *short_joint(length_mm or float(readings.s_mm[-1]), bench.unit)]
    s = readings.s_mm
    if length_mm is not None:
        if s[-1] > length_mm + 1:
            raise Mistake(
                f"a place at {s[-1]:g} mm lies beyond the joint's {length_mm:g} mm",
                do="check the length, or measure from the neck end",
            )
        if s[-1] - s[0] < length_mm / 2:
            raise Mistake(
                f"only {s[-1] - s[0]:.0f} mm of the joint's {length_mm:.0f} mm were read",
                do="read from end to end; centimetres are headed s_cm",
            )
        for missed, end in ((s[0], "neck"), (length_mm - s[-1], "tail")):
            if missed > 0.1 * length_mm:
                warnings.append(
                    f"the {place_words(missed, bench.unit)} at the {end} end were not read: nothing"
                    " is said of them, read them before glue goes on"
                )
    times = 2.0 if of == "folded" else 1.0
    seen = Profile(s, readings.middle_mm * times, readings.error_mm * times)
    square = None
    if readings.back_mm is not None and of != "folded":
        square = square_of(s, readings.front_mm, readings.back_mm, bench.thickness_mm, readings.error_mm)
    if of == "folded" and readings.back_mm is not None:
        warnings.append("read on folded edges: what they lean cancels in the joint")
    if of == "one-edge":
        warnings.append("one edge was read: the other is taken as straight")
    return judge_gap(seen, bench, of=of, length_mm=length_mm, square=square, warnings=warnings)


def judge_light(reading: LightReading, bench: Bench) -> Meaning:
    """What the light through a joint means; without a width, in words only.

    Raises:
        Mistake: as `judge_gap`.
    """
    short = short_joint(reading.length_mm, bench.unit)
    if reading.gap_mm is not None and reading.error_mm is not None:
        seen = Profile(reading.s_mm, reading.gap_mm, reading.error_mm)
        return judge_gap(
            seen,
            bench,
            measured="width",
            length_mm=reading.length_mm,
            light=reading.light,
            lower_bound=reading.lower_bound,
            warnings=(*short, *reading.warnings),
        )
    s, light = reading.s_mm, reading.light
    values, dark, closed_below = _relative(reading)
    shape = shape_of(s, values, closed_below)
    runs = runs_above(s, dark.astype(np.float64), 0.5)
    why = "the gap's width is not known from this picture: no take-off, no pressure"
    return Meaning(
        measured="relative",
        of="joint",
        length_mm=reading.length_mm,
        s_mm=s,
        light=light,
        seen=None,
        fit=None,
        error_mm=None,
        shape=shape,
        widest_mm=None,
        at_mm=float(s[np.argmax(values)]),
        touching=runs,
        take_off=(),
        deepest_mm=None,
        strokes=(),
        closing=None,
        wanted=wanted(bench.leaf(reading.length_mm), bench.glue, 0.0),
        feasible=None,
        square=None,
        progress=None,
        verdict="glue" if shape == "closed" else "a few strokes",
        lower_bound=reading.lower_bound,
        cautions=bench.cautions,
        warnings=tuple(dict.fromkeys((*short, *reading.warnings, why))),
    )


def _relative(reading: LightReading) -> tuple[Floats, Bools, float]:
    """(n,) light that makes the shape, (n,) where it touches, the most light of a closed joint.

    Shims are taken out of it as of a gap: light goes with the gap, near enough for a shape.
    """
    s, light, dark = reading.s_mm, reading.light, reading.touching
    if reading.shims_mm is None:
        return light, dark, float(light[dark].max()) if dark.any() else 0.0
    ends = (s < s[0] + ENDS_MM) | (s > s[-1] - ENDS_MM)
    doubt = SHIM_LIGHT * float(np.median(light[ends]))
    least = max(TOUCHING_MM / FULL_LIGHT_MM, doubt)
    fit = fit_gap(Profile(s, light, doubt / 2)).gap_mm
    return fit, fit < least / 2, least


def short_joint(length_mm: float, unit: Unit) -> tuple[str, ...]:
    """A word on a joint shorter than any guitar's: its length may have been typed in another unit."""
    if length_mm >= SHORT_MM:
        return ()
    return (f"a joint of {place_words(length_mm, unit)} is shorter than any guitar's: is its length right?",)
