"""Constants to start from: those of the species, or of a softwood for tops, and one-formula estimates."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin

from seamlight.plate.grain_angle import across_at_ring_angle, shear_at_ring_angle
from seamlight.plate.piece import Piece
from seamlight.plate.stiffness import TONNE_PER_MM3, Elastic
from seamlight.timber.elastic import (
    DENSITY_VARIES,
    E_VARIES,
    TRUE_OVER_BENDING,
    elastic_facts,
    elastic_ratios,
)


@dataclass(frozen=True)
class Expected:
    """What a board should be before it is tapped, and how far it may be off (standard deviations of logs).

    `of` names the species whose ratios were used.
    """

    elastic: Elastic
    density_kg_m3: float
    e_along_off: float
    e_ratio_off: float
    g_ratio_off: float
    of: str


# Speed of sound along the grain, m/s, of an unknown wood: 4800 to 6300 for spruce, less for hardwoods
# (from memory)
_SPEED_M_S = 5000.0


def expected(species: str | None, density_kg_m3: float, ring_to_face_deg: float | None = None) -> Expected:
    """Constants to expect of a board of this density; the ratios of Sitka spruce where unnamed.

    Quarter-sawn where the ring angle is not known.

    Raises:
        Mistake: no such species.
    """
    ratios = elastic_ratios(species)
    facts = elastic_facts(species) if species else None
    if facts is not None and facts.bending_e_mpa and facts.density_kg_m3:
        # stiffness goes with density within a species, as speed of sound varies less than either
        speed2 = TRUE_OVER_BENDING * facts.bending_e_mpa.value / facts.density_kg_m3.value
        e_along, off = speed2 * density_kg_m3, (E_VARIES**2 + DENSITY_VARIES**2) ** 0.5
    else:
        e_along, off = _SPEED_M_S**2 * density_kg_m3 * 1e-6, 0.35
    ring_deg = 90.0 if ring_to_face_deg is None else ring_to_face_deg
    across = across_at_ring_angle(ring_deg, ratios)
    # shear in the grain's planes turns as a tensor of two directions: sin^2 and cos^2 of the ring angle
    upright = sin(radians(ring_deg)) ** 2
    elastic = Elastic(
        e_along_mpa=e_along,
        e_across_mpa=e_along * ratios.e_radial * across,
        g_mpa=e_along * (ratios.g_lr * upright + ratios.g_lt * (1 - upright)),
        nu_along=ratios.nu_lr,
        g_along_thick_mpa=e_along * (ratios.g_lt * upright + ratios.g_lr * (1 - upright)),
        g_across_thick_mpa=e_along * shear_at_ring_angle(ring_deg, ratios),
    )
    known = species is not None
    return Expected(elastic, density_kg_m3, off, 0.45 if known else 0.6, 0.3 if known else 0.4, ratios.of)


def beam_e_mpa(density_kg_m3: float, hz: float, length_mm: float, thickness_mm: float) -> float:
    """Modulus from the first bending of a free slender strip, MPa; no shear, no air.

    >>> round(beam_e_mpa(403, 95.5269, 400, 3))
    9900
    """
    # Euler-Bernoulli beam, free-free: E = (48 pi^2 / beta^4) rho f^2 L^4 / h^2, beta = 4.730040745
    return 0.9464147 * density_kg_m3 * TONNE_PER_MM3 * hz**2 * length_mm**4 / thickness_mm**2


def twist_g_mpa(piece: Piece, hz: float) -> float:
    """Shear modulus from the twist with the shape w = x y, MPa: 8 to 10 % too low on usual leaves."""
    # M. E. McIntyre and J. Woodhouse, Acustica 39 (1978), from memory: G = 3 x 0.274156 rho f^2 a^2 b^2 / h^2
    rho = piece.density_kg_m3 * TONNE_PER_MM3
    return 0.822468 * rho * hz**2 * piece.length_mm**2 * piece.width_mm**2 / piece.thickness_mm**2
