"""The feelers' reading of both faces joined to the light's reading of the same joint: one judgement.

Light tells how far the edges stand apart where they are nearest through the thickness; only feelers, or light
from the side, tell whether they lean. Where a feeler went in on both faces, light should have shown.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from seamlight.mistake import Mistake
from seamlight.seam.bench import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.light_reading import LightReading
from seamlight.seam.meaning import Meaning, judge_gap, judge_light
from seamlight.seam.profile import Floats, Profile
from seamlight.seam.readings import Readings
from seamlight.seam.square import Felt, Square, square_of
from seamlight.seam.verdict import Verdict

FEWEST_TO_COMPARE = 4  # places: two would be met by shims and turning alone
DIFFER_FROM_MM = 0.02  # two thin feelers' steps


def join_faces(meaning: Meaning, faces: Readings, bench: Bench) -> Meaning:
    """A light reading with what was felt on both faces of the same joint, before anything was taken off.

    Where light told where and not how wide, the feelers tell how wide, straight between their places.

    Raises:
        Mistake: one face only was read, or beyond the joint.
    """
    if faces.back_mm is None:
        raise Mistake("one face was read", where="faces", do="write s, front, back: 0 where nothing goes in")
    if faces.s_mm[-1] > meaning.length_mm + 1:
        raise Mistake(
            f"a place at {faces.s_mm[-1]:g} mm lies beyond the joint's {meaning.length_mm:.0f} mm",
            where="faces",
            do="measure from the neck end",
        )
    square = square_of(faces.s_mm, faces.front_mm, faces.back_mm, bench.thickness_mm, faces.error_mm)
    if meaning.measured == "relative" and meaning.shape != "closed":
        wide = np.interp(meaning.s_mm, faces.s_mm, faces.middle_mm)
        return judge_gap(
            Profile(meaning.s_mm, wide, faces.error_mm),
            bench,
            length_mm=meaning.length_mm,
            light=meaning.light,
            square=square,
            warnings=("the light says where; how wide is by the feelers, straight between their places",),
        )
    return _judged(meaning, square, _felt(meaning, faces, faces.back_mm))


def _felt(meaning: Meaning, faces: Readings, back_mm: Floats) -> Felt | None:
    """How well the feelers agree with the light; None where the light gave no width."""
    if meaning.seen is None or faces.s_mm.size < FEWEST_TO_COMPARE:
        return None
    # a feeler leans into the wedge on its own face; light passes where the edges are nearest
    through = np.minimum(faces.front_mm, back_mm)
    off = through - meaning.seen.at(faces.s_mm)
    off = off - np.polyval(np.polyfit(faces.s_mm, off, 1), faces.s_mm)  # shims and turning
    worst = int(np.argmax(np.abs(off)))
    allowed = float(np.hypot(1.5 * meaning.seen.error_mm, 1.5 * faces.error_mm))
    return Felt(float(off[worst]), float(faces.s_mm[worst]), max(DIFFER_FROM_MM, allowed))


def _judged(meaning: Meaning, square: Square, felt: Felt | None) -> Meaning:
    """Light and faces in one judgement."""
    joined = replace(meaning, square=square, felt=felt)
    open_mm = abs(square.wind_mm) / 2  # laid flat and turned for the best, half of the wind at either end
    closed = meaning.shape == "closed"
    if not square.is_straight:
        joined = replace(joined, verdict="plane again", strokes=())
        if closed or (meaning.widest_mm is not None and open_mm >= meaning.widest_mm):
            joined = replace(
                joined, shape="wind", widest_mm=open_mm, at_mm=0.0, take_off=(), strokes=(), deepest_mm=0.0
            )
    elif square.must_be_squared and meaning.verdict == "glue":
        verdict: Verdict = "a few strokes"
        joined = replace(joined, verdict=verdict)
    return joined


def light_again(document: SeamDocument, bench: Bench) -> Meaning:
    """What a kept light reading means, judged anew.

    Raises:
        Mistake: it is no light reading.
    """
    if document.light is None or document.measured == "readings":
        raise Mistake("is no reading of light", do="shoot the joint")
    s = np.array(document.s_mm, dtype=np.float64)
    touching = np.zeros(s.shape, bool)
    for start, stop in document.touching_mm:
        touching |= (s >= start - 1e-6) & (s <= stop + 1e-6)
    reading = LightReading(
        s_mm=s,
        light=np.array(document.light, dtype=np.float64),
        gap_mm=None if document.gap_mm is None else np.array(document.gap_mm, dtype=np.float64),
        error_mm=document.error_mm,
        measured="relative" if document.gap_mm is None else "width",
        touching=touching,
        length_mm=document.length_mm,
        lower_bound=document.lower_bound,
        warnings=tuple(document.warnings),
        straight=np.zeros((1, 1, 3), np.uint8),
        straight_px_per_mm=1.0,
        ends_px=((0.0, 0.0), (0.0, 0.0)),
    )
    # of several places that kept figures no longer tell apart, the one that was named
    again = replace(judge_light(reading, bench), at_mm=document.at_mm)
    if again.measured == "relative":  # its shims are not kept with it
        again = replace(again, shape=document.shape, verdict=document.verdict)
    return again
