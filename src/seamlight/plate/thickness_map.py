"""Calliper readings on a grid: what is left to take where."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import LinearNDInterpolator

from seamlight.mistake import Mistake
from seamlight.plate.legendre import Array
from seamlight.plate.thickness import WORK_TOLERANCE_MM
from seamlight.units import likely_slip, parse_length

# A plate on the way to its thickness, rough leaf to finished; common practice, no source
_LOW_MM, _HIGH_MM = 0.8, 12.0
_FAR_FROM_OTHERS_MM = 1.0  # a reading this far from the middle of all is asked about


@dataclass(frozen=True, eq=False)
class Readings:
    """Places (n, 2) in mm, along the grain and across, and thickness (n) in mm."""

    at_mm: Array
    thickness_mm: Array


@dataclass(frozen=True, eq=False)
class ThicknessMap:
    """What the readings say.

    Attributes:
        left_mm: (n) wood over the target at each reading, both faces together; below 0 too thin.
        thinnest, thickest: places of the extremes, index into the readings.
        stiff_mm: the even thickness of the same bending stiffness on the whole.
        weight_left_g_m2: mean wood to come off, grams per m2 for each 1000 kg/m3 of density.
        lines: where to work, in words.
    """

    left_mm: Array
    thinnest: int
    thickest: int
    stiff_mm: float
    weight_left_g_m2: float
    lines: tuple[str, ...]


def read_readings(text: str, *, where: str = "readings") -> Readings:
    """Readings from CSV rows `along_mm, across_mm, thickness_mm`; a heading line may stand first.

    Raises:
        Mistake: a row that is no reading, or a thickness that cannot be meant; names the line.
    """
    rows = []
    for number, row in enumerate(csv.reader(io.StringIO(text)), start=1):
        cells = [cell.strip() for cell in row if cell.strip()]
        if not cells or (number == 1 and not any(character.isdigit() for character in "".join(cells))):
            continue
        if number == 1 and any(character.isalpha() for character in cells[0]):
            continue
        if len(cells) != 3:
            raise Mistake(
                f"line {number} has {len(cells)} figures", where=where, do="write along, across, thickness"
            )
        along, across, thick = (parse_length(cell, where=f"{where}, line {number}") for cell in cells)
        slip = likely_slip(thick, _LOW_MM, _HIGH_MM)
        if slip:
            raise Mistake(f"a thickness of {slip}", where=f"{where}, line {number}", do="check the point")
        rows.append((along, across, thick))
    if len(rows) < 3:
        raise Mistake("there are fewer than three readings", where=where, do="read at least a 3 by 3 grid")
    table = np.array(rows)
    odd = np.abs(table[:, 2] - np.median(table[:, 2]))
    worst = int(np.argmax(odd))
    if odd[worst] > _FAR_FROM_OTHERS_MM:
        raise Mistake(
            f"{table[worst, 2]:g} mm at {table[worst, 0]:g}, {table[worst, 1]:g} is far from the others"
            f" (about {np.median(table[:, 2]):.2f} mm)",
            where=where,
            do="read it again",
        )
    return Readings(table[:, :2], table[:, 2])


def what_is_left(
    readings: Readings, target_mm: float | Array, tolerance_mm: float = WORK_TOLERANCE_MM
) -> ThicknessMap:
    """Compare readings with a target, one for all or one for each reading."""
    left = readings.thickness_mm - np.asarray(target_mm, dtype=np.float64)
    # bending stiffness goes with the cube of thickness (plate theory): the mean of cubes counts
    stiff = float(np.mean(readings.thickness_mm**3) ** (1 / 3))
    return ThicknessMap(
        left,
        int(np.argmin(left)),
        int(np.argmax(left)),
        stiff,
        float(np.maximum(left, 0).mean() * 1000),
        _lines(readings, left, tolerance_mm),
    )


def _lines(readings: Readings, left: Array, tolerance_mm: float) -> tuple[str, ...]:
    thin, thick = int(np.argmin(left)), int(np.argmax(left))

    def place(k: int) -> str:
        return f"at {readings.at_mm[k, 0]:.0f} along, {readings.at_mm[k, 1]:.0f} across"

    lines = []
    if left[thin] < -tolerance_mm:
        lines.append(f"{place(thin)} it is {-left[thin]:.2f} mm under the target: leave that place alone")
    if left[thick] > tolerance_mm:
        lines.append(f"most is left {place(thick)}: {left[thick]:.2f} mm")
    if np.ptp(left) <= 2 * tolerance_mm:
        lines.append(f"even within {np.ptp(left):.2f} mm")
    else:
        level = left - max(float(left[thin]), 0.0)
        spots = int((level > tolerance_mm).sum())
        lines.append(
            f"first bring {spots} of {len(left)} places down to the thinnest,"
            f" {readings.thickness_mm[thin]:.2f} mm"
        )
    if (left <= tolerance_mm).all():
        lines.append("it is at its thickness: stop")
    return tuple(lines)


def surface(readings: Readings, values: Array, along_mm: Array, across_mm: Array) -> Array:
    """(n, m) values between the readings at places along (n) and across (m); NaN outside them."""
    between = LinearNDInterpolator(readings.at_mm, values)
    grid = np.meshgrid(along_mm, across_mm, indexing="ij")
    return np.asarray(between(*grid), dtype=np.float64)
