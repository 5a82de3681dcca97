"""What a drawing file says before anything is made of it: lines, and the unit they are in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.mistake import Mistake
from seamlight.outline.measure import LENGTH_RANGE_MM
from seamlight.photo.flat import Points
from seamlight.units import MM_PER_INCH

DrawnUnit = Literal["mm", "cm", "inch"]
UNIT_MM: dict[DrawnUnit, float] = {"mm": 1.0, "cm": 10.0, "inch": MM_PER_INCH}
MOST_BYTES = 50_000_000


@dataclass(frozen=True, eq=False)
class Drawing:
    """Lines of a drawing, y down as on the screen, in drawn units."""

    lines: tuple[Points, ...]  # each (n, 2), n >= 2; a closed one repeats its first point
    unit_mm: float | None  # what the file says one drawn unit is; None where it does not say
    y_up: bool  # in the file itself, so that a place can be named as the maker sees it
    guesses: tuple[tuple[str, float], ...]  # units to try where the file does not say: name and mm


def size_of(lines: tuple[Points, ...]) -> float:
    """The longer side of the box around all lines, in drawn units."""
    points = np.concatenate(lines)
    return float(np.ptp(points, axis=0).max())


def unit_of(drawing: Drawing, length: float, unit: DrawnUnit | None, where: str) -> tuple[float, str | None]:
    """Millimetres in one drawn unit, and a warning where that is not simply what the file says.

    Args:
        drawing: the file.
        length: roughly the length of the shape, in drawn units: it decides between units.
        unit: what the person says, which wins.
        where: the file's name.

    Raises:
        Mistake: nobody says the unit and the size does not tell it.
    """
    if unit is not None:
        said = drawing.unit_mm
        if said is not None and abs(said / UNIT_MM[unit] - 1) > 1e-6:
            return UNIT_MM[
                unit
            ], f"{where}: read in {unit} as you said, though the file says {said:.4g} mm to a unit"
        return UNIT_MM[unit], None
    if drawing.unit_mm is not None:
        return drawing.unit_mm, None
    low, high = LENGTH_RANGE_MM
    fits = [(name, mm) for name, mm in drawing.guesses if low <= length * mm <= high]
    if len(fits) == 1:
        name, mm = fits[0]
        return mm, f"{where}: does not say its unit; taken as {name}"
    raise Mistake(
        f"the file does not say its unit, and in none would {length:.4g} be the length of a guitar's body"
        if not fits
        else f"the file does not say its unit: {' or '.join(name for name, _ in fits)} are all possible",
        where=where,
        do="say the unit it was drawn in: mm, cm or inch",
    )
