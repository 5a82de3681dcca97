"""What the constants mean: sound figures, the species' published range, standard moisture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from seamlight.plate.stiffness import Elastic
from seamlight.timber.elastic import (
    DENSITY_VARIES,
    E_VARIES,
    TRUE_OVER_BENDING,
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


def among_past(value: float, past: Sequence[float]) -> str:
    """Where a figure lies among those of past plates, in words; empty where there are fewer than three.

    >>> among_past(5.0, [1, 2, 3, 6])
    'above 3 of 4 past plates'
    """
    if len(past) < 3:
        return ""
    below = sum(other < value for other in past)
    return f"above {below} of {len(past)} past plates"
