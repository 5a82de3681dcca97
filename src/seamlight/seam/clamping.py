"""From a pressure to what the hands do: clamps, wedges, rope, weights.

Forces in N are those across the joint; the joint's area is its length times the leaf's thickness.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, ceil, degrees, radians, tan

from seamlight.mistake import Mistake
from seamlight.seam.leaf import Leaf
from seamlight.timber.glue import Glue, Range

GRAVITY_M_S2 = 9.80665  # standard gravity, CGPM 1901
CLAMP_N = 800.0  # a light bar clamp, hand tight (common practice, no source)
WOOD_FRICTION = 0.35  # dry wood on wood, 0.25 to 0.5 (from memory: engineering handbooks); wax halves it
ROPE_N = 150.0  # a turn of 5 mm rope pulled by hand and wedged (common practice, no source)


@dataclass(frozen=True)
class Wanted:
    """What the glue wants of this joint."""

    area_mm2: float
    pressure_mpa: Range
    force_low_n: float
    force_high_n: float
    left_for_glue_mpa: float  # of the low pressure, once the joint is pulled shut
    enough: bool  # the high pressure shuts the joint and still gives the low one's half to the glue


def wanted(leaf: Leaf, glue: Glue, closing_mpa: float) -> Wanted:
    """Pressure and force for a joint of this leaf's length and thickness."""
    area = leaf.length_mm * leaf.thickness_mm
    pressure = glue.pressure_mpa(leaf.kind)
    return Wanted(
        area_mm2=area,
        pressure_mpa=pressure,
        force_low_n=pressure.low * area,
        force_high_n=pressure.high * area,
        left_for_glue_mpa=pressure.low - closing_mpa,
        enough=closing_mpa + pressure.low / 2 <= pressure.high,
    )


def _positive(value: float, what: str) -> None:
    if not value > 0:
        raise Mistake(f"{what} of {value:g} does nothing", do="give more than 0")


def clamp_count(force_n: float, length_mm: float, width_mm: float, per_clamp_n: float = CLAMP_N) -> int:
    """Clamps that give a force, close enough together that the joint gets it evenly.

    Pressure spreads at about 45 degrees from a clamp's pad, so clamps stand no further apart than twice the
    leaf's width (common practice, no source); two at least.

    Raises:
        Mistake: a clamp without force.

    >>> clamp_count(1516, 550, 200)
    2
    >>> clamp_count(3793, 550, 200)
    5
    """
    _positive(per_clamp_n, "a clamp's force")
    return max(2, ceil(force_n / per_clamp_n), ceil(length_mm / (2 * width_mm)))


def clamp_places(count: int, length_mm: float) -> tuple[float, ...]:
    """Where so many clamps stand along a joint, mm from the neck end: each in the middle of its own share.

    >>> clamp_places(3, 540)
    (90.0, 270.0, 450.0)
    """
    return tuple((number + 0.5) * length_mm / count for number in range(count))


@dataclass(frozen=True)
class WedgeDrive:
    """One wedge between a fixed board and the leaf's outer edge."""

    drive_n: float  # along the wedge, to press the joint with the force
    holds: bool  # it stays when the hammer is put away
    steepest_deg: float  # that still holds


def wedge_drive(force_n: float, angle_deg: float, friction: float = WOOD_FRICTION) -> WedgeDrive:
    """What drives a wedge so that it presses sideways with a force, and whether it holds by friction.

    Args:
        force_n: across the joint.
        angle_deg: of the wedge, between its two faces.
        friction: of both faces.

    Raises:
        Mistake: no wedge has that angle, or no wood that friction.
    """
    if not 0 < angle_deg < 45:
        raise Mistake(f"{angle_deg:g} degrees is no wedge", do="give degrees, such as 5")
    if not 0 <= friction <= 1:
        raise Mistake(f"a friction of {friction:g} is no wood's", do="give 0.1 waxed to 0.5 dry")
    # Wedge with friction on both faces (statics): P = N (tan(a + phi) + tan(phi)); self-locking for a <= 2
    # phi
    phi = atan(friction)
    drive = force_n * (tan(radians(angle_deg) + phi) + tan(phi))
    steepest = degrees(2 * phi)
    return WedgeDrive(drive, angle_deg <= steepest, steepest)


def wedge_travel_mm(closing_mm: float, angle_deg: float) -> float:
    """How far a wedge goes in to press the edges together by so much."""
    # geometry: tan(angle) = rise / run
    return closing_mm / tan(radians(angle_deg))


def rope_turns(force_n: float, per_turn_n: float = ROPE_N) -> int:
    """Turns of rope round both leaves: each pulls with both its strands.

    Raises:
        Mistake: a rope without pull.
    """
    _positive(per_turn_n, "a rope's pull")
    return max(2, ceil(force_n / (2 * per_turn_n)))


def weight_kg(force_n: float) -> float:
    """The mass whose weight presses with a force, the joint lying level and the leaf standing on its edge."""
    return force_n / GRAVITY_M_S2
