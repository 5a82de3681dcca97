"""From a brace blank to a brace: height and width to a wanted stiffness, scallop and taper, weight, runout.

Stiffness is of the brace alone. Glued to a plate it is several times as much: the plate becomes its flange.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan

import numpy as np

from seamlight.mistake import Mistake
from seamlight.plate.legendre import Array
from seamlight.plate.section import SectionKind, area_mm2, second_moment_mm4
from seamlight.timber import slope_of_degrees

# FAA AC 43.13-1B, Table 1-1: slope of grain of spruce and Douglas-fir in aircraft, 1 in 15
AIRCRAFT_ONE_IN = 15.0
# USDA Wood Handbook, Table 5-12, bending strength by slope of grain 1 in N, percent; from memory
_STRENGTH_PCT = ((5.0, 55.0), (10.0, 81.0), (15.0, 89.0), (20.0, 93.0), (25.0, 96.0))


@dataclass(frozen=True)
class Blank:
    """Brace stock: E along the grain with its spread, and density."""

    e_mpa: float
    density_kg_m3: float
    spread_pct: float = 0.0


def stiffness_n_mm2(blank: Blank, kind: SectionKind, width_mm: float, height_mm: float) -> float:
    """E I of a section, N mm2."""
    return blank.e_mpa * second_moment_mm4(kind, width_mm, height_mm)


def height_for(blank: Blank, kind: SectionKind, width_mm: float, wanted_n_mm2: float) -> float:
    """Height that gives a wanted E I at a width, mm.

    >>> round(height_for(Blank(12000, 420), "rectangular", 8, 12000 * 8 * 12**3 / 12), 6)
    12.0
    """
    _positive(wanted_n_mm2, "stiffness")
    # I goes with the cube of the height for sections of one kind
    return float((wanted_n_mm2 / stiffness_n_mm2(blank, kind, width_mm, 1.0)) ** (1 / 3))


def width_for(blank: Blank, kind: SectionKind, height_mm: float, wanted_n_mm2: float) -> float:
    """Width that gives a wanted E I at a height, mm."""
    _positive(wanted_n_mm2, "stiffness")
    return float(wanted_n_mm2 / stiffness_n_mm2(blank, kind, 1.0, height_mm))


def _positive(value: float, what: str) -> None:
    if not value > 0:
        raise Mistake(f"a {what} of {value:g} can't be wanted", do="give a number above 0")


@dataclass(frozen=True, eq=False)
class Brace:
    """A brace along its length: places s (n) from one end and heights there (n), straight between; mm."""

    kind: SectionKind
    width_mm: float
    s_mm: Array
    height_mm: Array

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return float(self.s_mm[-1] - self.s_mm[0])


@dataclass(frozen=True, eq=False)
class BraceFigures:
    """Places along the brace (n), mm, with height (n), E I (n) N mm2; weight in g.

    `even_height_mm` is the height of an even brace that gives as much in the middle on end supports.
    """

    s_mm: Array
    height_mm: Array
    stiffness_n_mm2: Array
    weight_g: float
    even_height_mm: float


def tapered(
    kind: SectionKind,
    width_mm: float,
    height_mm: float,
    length_mm: float,
    end_height_mm: float,
    taper_mm: float,
) -> Brace:
    """A brace whose ends come down to a height over a length each.

    Raises:
        Mistake: the tapers meet, or the ends are higher than the middle.
    """
    if 2 * taper_mm > length_mm or not 0 < end_height_mm <= height_mm:
        raise Mistake(
            f"ends of {end_height_mm:g} mm over {taper_mm:g} mm do not fit a brace {length_mm:g} mm long and"
            f" {height_mm:g} mm high",
            do="give a taper of at most half the length and an end below the height",
        )
    s = np.array([0.0, taper_mm, length_mm - taper_mm, length_mm])
    return Brace(kind, width_mm, s, np.array([end_height_mm, height_mm, height_mm, end_height_mm]))


def scalloped(brace: Brace, low_at_mm: float, low_height_mm: float, reach_mm: float) -> Brace:
    """A brace with a scallop: down to a height at a place, along a half cosine wave on either side.

    Raises:
        Mistake: the scallop is no lower than the brace there.
    """
    s = np.unique(np.concatenate((brace.s_mm, low_at_mm + np.linspace(-reach_mm, reach_mm, 33))))
    s = s[(s >= brace.s_mm[0]) & (s <= brace.s_mm[-1])]
    height = np.interp(s, brace.s_mm, brace.height_mm)
    there = float(np.interp(low_at_mm, brace.s_mm, brace.height_mm))
    if not 0 < low_height_mm < there:
        raise Mistake(
            f"a scallop of {low_height_mm:g} mm is not below the brace's {there:.1f} mm there",
            do="give its lowest height and where it lies",
        )
    near = np.abs(s - low_at_mm) <= reach_mm
    dip = (1 + np.cos(np.pi * (s - low_at_mm) / reach_mm)) / 2
    height = np.where(near, height * (1 - dip * (1 - low_height_mm / there)), height)
    return Brace(brace.kind, brace.width_mm, s, height)


def figures(brace: Brace, blank: Blank) -> BraceFigures:
    """Stiffness along the brace, weight, and the even brace it amounts to."""
    s = np.linspace(brace.s_mm[0], brace.s_mm[-1], 401)
    height = np.interp(s, brace.s_mm, brace.height_mm)
    second = np.array([second_moment_mm4(brace.kind, brace.width_mm, float(h)) for h in height])
    area = np.array([area_mm2(brace.kind, brace.width_mm, float(h)) for h in height])
    # unit-load theorem: give in the middle of a beam on its ends is the integral of (s / 2)^2 / E I
    moment = np.minimum(s - s[0], s[-1] - s) / 2
    give = float(np.trapezoid(moment**2 / second, s))
    even = brace.length_mm**3 / 48 / give
    per_mm3 = second_moment_mm4(brace.kind, brace.width_mm, 1.0)
    return BraceFigures(
        s,
        height,
        blank.e_mpa * second,
        float(np.trapezoid(area, s)) * blank.density_kg_m3 * 1e-6,
        float((even / per_mm3) ** (1 / 3)),
    )


def rise_mm(radius_mm: float, chord_mm: float) -> float:
    """How much higher a blank must be for a radiused brace: the rise of its arc, mm.

    >>> round(rise_mm(25 * 304.8, 15.5 * 25.4), 2)
    2.54
    """
    # geometry of the circle: s = R - sqrt(R^2 - (c/2)^2)
    if not radius_mm > chord_mm / 2:
        raise Mistake(f"a radius of {radius_mm:g} mm spans no {chord_mm:g} mm", do="check radius and length")
    return radius_mm - float(np.sqrt(radius_mm**2 - chord_mm**2 / 4))


@dataclass(frozen=True)
class Runout:
    """Slope of grain beside the published limit; `strength_pct` is bending strength left."""

    one_in: float
    within: bool
    strength_pct: float
    words: str


def runout(angle_deg: float, height_mm: float) -> Runout:
    """What a slope of grain means for a brace.

    Args:
        angle_deg: of the fibre to the brace's length, seen on the face where it is greatest.
        height_mm: of the brace, for how far apart a fibre's ends come out.
    """
    one_in = slope_of_degrees(angle_deg)
    within = one_in >= AIRCRAFT_ONE_IN
    slopes, strengths = zip(*_STRENGTH_PCT, strict=True)
    # by slope, between the table's rows; above 1 in 25 on to 100 % for straight grain
    strength = float(
        np.interp(-1 / one_in if angle_deg else 0.0, [*(-1 / s for s in slopes), 0.0], [*strengths, 100.0])
    )
    through = height_mm / tan(radians(abs(angle_deg))) if angle_deg else float("inf")
    if within:
        slope = f"1 in {one_in:.0f}" if one_in < 1000 else "straight"
        words = f"grain {slope}: within the aircraft limit of 1 in {AIRCRAFT_ONE_IN:.0f}"
    else:
        words = (
            f"grain 1 in {one_in:.0f} is steeper than the aircraft limit of 1 in {AIRCRAFT_ONE_IN:.0f}: a"
            f" fibre leaves the brace after {through:.0f} mm; turn the runout sideways, or split another"
        )
    return Runout(one_in, within, strength, words)
