"""Elastic constants of a board in its own plane, and the bending stiffness of a plate made of it.

Units throughout the room: mm, N, MPa, and tonnes for mass inside the formulas, so that Hz comes out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

TONNE_PER_MM3 = 1e-12  # one kg/m3 in tonnes per mm3


@dataclass(frozen=True)
class Elastic:
    """Constants of a flat board whose grain runs along its length.

    Attributes:
        e_along_mpa, e_across_mpa: Young's moduli along and across the grain.
        g_mpa: shear modulus in the board's plane.
        nu_along: major Poisson ratio (stretched along, thinner across).
        g_along_thick_mpa, g_across_thick_mpa: shear moduli through the thickness.
    """

    e_along_mpa: float
    e_across_mpa: float
    g_mpa: float
    nu_along: float = 0.372
    g_along_thick_mpa: float = 0.0
    g_across_thick_mpa: float = 0.0

    @property
    def nu_across(self) -> float:
        """Minor Poisson ratio."""
        # reciprocity of an orthotropic body: nu_21 / E_2 = nu_12 / E_1 (Wood Handbook FPL-GTR-190, chapter 5)
        return self.nu_along * self.e_across_mpa / self.e_along_mpa

    def at(self, e_along_mpa: float, e_across_mpa: float, g_mpa: float) -> Elastic:
        """The same board with other constants in its plane; shear through the thickness goes with them."""
        return replace(
            self,
            e_along_mpa=e_along_mpa,
            e_across_mpa=e_across_mpa,
            g_mpa=g_mpa,
            g_along_thick_mpa=self.g_along_thick_mpa * g_mpa / self.g_mpa,
            g_across_thick_mpa=self.g_across_thick_mpa * e_along_mpa / self.e_along_mpa,
        )


@dataclass(frozen=True)
class Bending:
    """Bending stiffness of a plate per width, N mm: along, coupling, across, twisting."""

    along: float
    coupling: float
    across: float
    twist: float


def bending(elastic: Elastic, thickness_mm: float) -> Bending:
    """Stiffness of a thin orthotropic plate."""
    # A. W. Leissa, Vibration of Plates, NASA SP-160 (1969), section 9.1: D_x = E_x h^3 / 12(1 - nu_x nu_y),
    # D_xy = G h^3 / 12, coupling nu_y D_x
    cubed = thickness_mm**3 / 12
    both = cubed / (1 - elastic.nu_along * elastic.nu_across)
    return Bending(
        along=elastic.e_along_mpa * both,
        coupling=elastic.nu_along * elastic.e_across_mpa * both,
        across=elastic.e_across_mpa * both,
        twist=elastic.g_mpa * cubed,
    )


def mass_t_mm2(density_kg_m3: float, thickness_mm: float) -> float:
    """Mass of a plate per area, tonnes per mm2."""
    return density_kg_m3 * TONNE_PER_MM3 * thickness_mm
