"""How much a plate changes in width when the air changes.

Between the quarter and flat-sawn figures lies the cut: `quarter`, `flat`, or the angle of ring to face in
degrees, 90 being quartered.
"""

from __future__ import annotations

from math import cos, radians, sin

from seamlight.mistake import Mistake
from seamlight.timber.species import Figure, Species, movement_mm

LEAST_MC_PCT, MOST_MC_PCT = 6.0, 14.0  # the range that Table 13-5's coefficients are given for


def ring_to_face_of(cut: str) -> float:
    """Degrees of ring to face for `quarter`, `flat` or a number of degrees.

    Raises:
        Mistake: it is none of these.

    >>> ring_to_face_of("quarter"), ring_to_face_of("45")
    (90.0, 45.0)
    """
    named = {"quarter": 90.0, "flat": 0.0}
    if cut.strip().lower() in named:
        return named[cut.strip().lower()]
    try:
        angle_deg = float(cut.replace(",", "."))
    except ValueError:
        angle_deg = -1.0
    if not 0 <= angle_deg <= 90:
        raise Mistake(f"{cut!r} is no cut", do="say quarter, flat, or degrees of ring to face from 0 to 90")
    return angle_deg


def movement_across(wood: Species, ring_to_face_deg: float) -> Figure | None:
    """The fraction of width per 1 % moisture content at a cut; None where the species has no figure."""
    radial, tangential = wood.movement_radial, wood.movement_tangential
    turn = radians(ring_to_face_deg)
    if ring_to_face_deg == 90 or radial is None or tangential is None:
        return radial if ring_to_face_deg == 90 else (tangential if ring_to_face_deg == 0 else None)
    # strain along a direction turned from two principal ones (Mohr's circle): e_R sin^2 + e_T cos^2
    value = radial.value * sin(turn) ** 2 + tangential.value * cos(turn) ** 2
    weakest = max(radial, tangential, key=lambda f: ("read", "transcribed", "from memory").index(f.standing))
    return Figure(value, weakest.standing, f"{weakest.source}, turned to the cut")


def width_change_mm(
    width_mm: float, wood: Species, ring_to_face_deg: float, from_mc_pct: float, to_mc_pct: float
) -> float | None:
    """Change of width between two moisture contents, mm, below 0 narrower; None without a figure."""
    across = movement_across(wood, ring_to_face_deg)
    return None if across is None else movement_mm(width_mm, across, from_mc_pct, to_mc_pct)


def doubts(*mc_pct: float) -> list[str]:
    """What to say where a moisture content lies outside the coefficients' range."""
    if all(LEAST_MC_PCT <= mc <= MOST_MC_PCT for mc in mc_pct):
        return []
    return ["movement figures are given for 6 to 14 % moisture; outside that they are carried on straight"]
