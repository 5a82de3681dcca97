"""What one leaf says, in words and figures: beside its picture and in the terminal."""

from __future__ import annotations

import numpy as np

from seamlight.grain.endgrain import QUARTERED_FROM_DEG, is_quartered
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import Reading, Thirds, lines_per_inch
from seamlight.sheets.words import length
from seamlight.units import Unit


def figures(
    reading: Reading, units: Unit, quarter_from_deg: float = QUARTERED_FROM_DEG
) -> list[tuple[str, list[str]]]:
    """Headed lines: size, scale, grain, rings, flaws."""
    flat = reading.flat
    out = [
        (
            "Leaf",
            [
                f"{length(flat.length_mm, units)} long",
                f"{length(flat.width_end1_mm, units)} wide at end 1,"
                f" {length(flat.width_end2_mm, units)} at end 2",
            ],
        ),
        (
            "Scale",
            [f"from {_how(flat.scale.how)}; good to {length(flat.scale.error_mm, units)} over the length"],
        ),
        ("Grain", _grain(reading, units)),
        ("Lines per inch, left / middle / right", [thirds(lines_per_inch(reading.spacing_mm), 0)]),
    ]
    if reading.end is not None:
        said = f"{thirds(reading.end.thirds, 0)} degrees (90 is quartered)"
        nearer = reading.end.quartered_edge
        counted = _quartered(reading.end.thirds, quarter_from_deg)
        out.append(
            (
                "Ring to face, left / middle / right",
                [f"{said}; {nearer} edge nearer quarter" if nearer else said, counted],
            )
        )
    listed = [f"{n} {flaw_words(flaw, units)}" for n, flaw in enumerate(reading.flaws)]
    out.append(("Flaws", listed or ["none found"]))
    return out


def _quartered(angles: Thirds, from_deg: float) -> str:
    marks = [
        "-" if angle is None else "yes" if is_quartered(angle, from_deg) else "no"
        for angle in (angles.left, angles.middle, angles.right)
    ]
    return f"quarter-sawn, counted from {from_deg:g} degrees (usages differ): {' / '.join(marks)}"


def _how(how: str) -> str:
    return {
        "tags": "the printed target sheets",
        "px": "the px/mm given",
        "dpi": "the dpi given",
        "size": "the leaf's size as given",
    }[how]


def _grain(reading: Reading, units: Unit) -> list[str]:
    if reading.angle_deg is None:
        return ["direction could not be read"]
    side = "straight" if abs(reading.angle_deg) < 0.05 else f"{abs(reading.angle_deg):.1f} degrees"
    toward = (
        "" if side == "straight" else f" toward the {'right' if reading.angle_deg > 0 else 'left'} at end 2"
    )
    said = [f"{side}{toward} on the whole"]
    if reading.wander_mm is not None:
        said.append(f"lines wander {length(reading.wander_mm, units)} from straight at most")
    return said


def thirds(values: Thirds, decimals: int) -> str:
    """Left / middle / right; `-` where a figure could not be had.

    >>> thirds(Thirds(19.2, None, 26.1), 0)
    '19 / - / 26'
    """
    return " / ".join(
        "-" if v is None else f"{v:.{decimals}f}" for v in (values.left, values.middle, values.right)
    )


def flaw_words(flaw: Flaw, units: Unit) -> str:
    """Such as `knot, 10.0 mm x 14.0 mm, 420 mm from end 1, 60 mm from the left; sure 0.95`."""
    points = np.asarray(flaw.outline_mm)
    wide, long = np.ptp(points, axis=0)
    x, y = (points.min(axis=0) + points.max(axis=0)) / 2
    return (
        f"{flaw.kind}, {length(float(wide), units)} x {length(float(long), units)},"
        f" {length(float(y), units, 0)} from end 1, {length(float(x), units, 0)} from the left;"
        f" sure {flaw.sure:.2f}"
    )
