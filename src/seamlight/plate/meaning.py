"""What the constants mean: sound figures, the species' published range, standard moisture, the grain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin, sqrt

from seamlight.plate.stiffness import Elastic
from seamlight.timber.elastic import (
    DENSITY_VARIES,
    E_VARIES,
    TRUE_OVER_BENDING,
    Ratios,
    elastic_facts,
)
from seamlight.timber.moisture import stiffness_ratio

STANDARD_MC_PCT = 8.5  # of air at 20 degrees C and 45 % RH; a shop sets its own


def speed_m_s(e_mpa: float, density_kg_m3: float) -> float:
    """Speed of sound along the direction of E, m/s."""
    # longitudinal wave in a slender bar: sqrt(E / rho)
    return sqrt(e_mpa * 1e6 / density_kg_m3)


def radiation_coefficient(e_mpa: float, density_kg_m3: float) -> float:
    """How loudly a plate of given stiffness answers a force, m4/(kg s).

    >>> round(radiation_coefficient(9900, 403.2), 2)
    12.29
    """
    # sqrt(E / rho^3); the name is common practice, no source
    return sqrt(e_mpa * 1e6 / density_kg_m3**3)


def loss(q: float | None) -> float | None:
    """Loss factor of a mode, 1 / Q: of the wood, with what the air and the fingers took."""
    return None if not q else 1 / q


@dataclass(frozen=True)
class Beside:
    """A figure beside its species' published range: the mean and one standard deviation to either side."""

    what: str
    value: float
    low: float
    mean: float
    high: float
    source: str

    @property
    def words(self) -> str:
        """Low, usual or high for the species."""
        if self.value < self.low:
            return "low for the species"
        return "high for the species" if self.value > self.high else "usual for the species"


def beside_species(name: str, e_along_12_mpa: float, density_12_kg_m3: float) -> tuple[Beside, ...]:
    """E along and density at 12 % moisture beside the species' published figures; empty where none exist.

    Raises:
        Mistake: no such species.
    """
    facts, rows = elastic_facts(name), []
    if facts.bending_e_mpa:
        mean = facts.bending_e_mpa.value * TRUE_OVER_BENDING
        rows.append(("E along, MPa", e_along_12_mpa, mean, E_VARIES, facts.bending_e_mpa.source))
    if facts.density_kg_m3:
        mean = facts.density_kg_m3.value
        rows.append(("density, kg/m3", density_12_kg_m3, mean, DENSITY_VARIES, facts.density_kg_m3.source))
    return tuple(
        Beside(what, value, mean * (1 - part), mean, mean * (1 + part), source)
        for what, value, mean, part, source in rows
    )


def at_moisture(
    elastic: Elastic, density_kg_m3: float, from_mc_pct: float, to_mc_pct: float, species: str | None
) -> tuple[Elastic, float]:
    """Constants and density of the same wood at another moisture content."""
    facts = elastic_facts(species) if species else None
    moved = elastic.at(
        elastic.e_along_mpa * stiffness_ratio("along", from_mc_pct, to_mc_pct, facts),
        elastic.e_across_mpa * stiffness_ratio("across", from_mc_pct, to_mc_pct, facts),
        elastic.g_mpa * stiffness_ratio("shear", from_mc_pct, to_mc_pct, facts),
    )
    # USDA Wood Handbook FPL-GTR-282 (2021), Eq. 4-13 and 4-14, transcribed: mass goes with 1 + M / 100,
    # volume with 1 - 0.265 G_b (1 - M / 30)
    basic = density_kg_m3 / 1000 / (1 + from_mc_pct / 100)
    basic = basic / (1 + 0.265 * basic * (1 - min(from_mc_pct, 30) / 30))
    at = basic / (1 - 0.265 * basic * (1 - min(to_mc_pct, 30) / 30))
    return moved, 1000 * at * (1 + to_mc_pct / 100)


def along_with_runout(runout_deg: float, ratios: Ratios) -> float:
    """E along the board over E along the fibre, where the fibre leaves the face by an angle.

    >>> from seamlight.timber.elastic import elastic_ratios
    >>> round(along_with_runout(5, elastic_ratios("Sitka spruce")), 4)
    0.9142
    """
    # turned compliance of an orthotropic body in the plane of grain and thickness (tangential on a quartered
    # face): 1/E = c^4/E_L + s^4/E_T + s^2 c^2 (1/G_LT - 2 nu_LT/E_L)
    c, s = cos(radians(runout_deg)), sin(radians(runout_deg))
    return 1 / (c**4 + s**4 / ratios.e_tangential + s**2 * c**2 * (1 / ratios.g_lt - 2 * ratios.nu_lt))


def across_at_ring_angle(ring_to_face_deg: float, ratios: Ratios) -> float:
    """E across the board over that of a quartered one, for rings at an angle to the face (90 quartered).

    >>> from seamlight.timber.elastic import elastic_ratios
    >>> across_at_ring_angle(90, elastic_ratios("Sitka spruce")) == 1
    True
    """
    # the same in the plane across the grain; rolling shear is so soft that 45 degrees is the weakest
    lean = radians(90 - ring_to_face_deg)
    c, s = cos(lean), sin(lean)
    e_r, e_t = ratios.e_radial, ratios.e_tangential
    turned = c**4 / e_r + s**4 / e_t + s**2 * c**2 * (1 / ratios.g_rt - 2 * ratios.nu_rt / e_r)
    return (1 / turned) / e_r


def grain_words(
    elastic: Elastic, ratios: Ratios, runout_deg: float | None, ring_to_face_deg: float | None
) -> tuple[str, ...]:
    """What known runout and ring angle account for, in a line each."""
    lines = []
    if runout_deg is not None and abs(runout_deg) > 0.5:
        part = along_with_runout(abs(runout_deg), ratios)
        lines.append(
            f"runout of {abs(runout_deg):.1f} degrees takes {100 * (1 - part):.0f} % off E along: along the"
            f" fibre it is {elastic.e_along_mpa / part / 1000:.1f} GPa"
        )
    if ring_to_face_deg is not None and ring_to_face_deg < 85:
        part = across_at_ring_angle(ring_to_face_deg, ratios)
        lines.append(
            f"rings at {ring_to_face_deg:.0f} degrees to the face leave {100 * part:.0f} % of the E across of"
            f" a quartered board by the ratios of {ratios.of}"
        )
    return tuple(lines)


@dataclass(frozen=True)
class PastPlate:
    """A plate the shop tapped before, at the shop's standard moisture."""

    label: str
    density_kg_m3: float
    e_along_mpa: float
    e_across_mpa: float


def among_past(value: float, past: Sequence[float]) -> str:
    """Where a figure lies among those of past plates, in words; empty where there are fewer than three.

    >>> among_past(5.0, [1, 2, 3, 6])
    'above 3 of 4 past plates'
    """
    if len(past) < 3:
        return ""
    below = sum(other < value for other in past)
    return f"above {below} of {len(past)} past plates"
