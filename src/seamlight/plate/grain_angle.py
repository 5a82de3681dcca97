"""What runout and ring angle do to the stiffness of a board."""

from __future__ import annotations

from math import cos, radians, sin

from seamlight.plate.stiffness import Elastic
from seamlight.timber.elastic import Ratios


def along_with_runout(runout_deg: float, ratios: Ratios) -> float:
    """E along the board over E along the fibre, where the fibre leaves the face by an angle.

    >>> from seamlight.timber.elastic import elastic_ratios
    >>> round(along_with_runout(5, elastic_ratios("Sitka spruce")), 4)
    0.9068
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


def shear_at_ring_angle(ring_to_face_deg: float, ratios: Ratios) -> float:
    """Shear modulus across and through the thickness over E along the grain.

    >>> from seamlight.timber.elastic import elastic_ratios
    >>> shear_at_ring_angle(90, elastic_ratios("Sitka spruce"))
    0.003
    """
    # turned compliance: 1/G = (c^2 - s^2)^2 / G_RT + 4 s^2 c^2 (1/E_R + 1/E_T + 2 nu_RT/E_R)
    lean = radians(90 - ring_to_face_deg)
    c, s = cos(lean), sin(lean)
    e_r, e_t = ratios.e_radial, ratios.e_tangential
    stretched = 4 * s**2 * c**2 * (1 / e_r + 1 / e_t + 2 * ratios.nu_rt / e_r)
    return 1 / ((c**2 - s**2) ** 2 / ratios.g_rt + stretched)


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
