"""The air that moves with a plate, against classical potential flow.

Added mass of a flat rectangle moving broadside: coefficients as tabled in DNV-RP-C205, Table D-2 (from
memory), of the cylinder pi/4 a^2 b. A long strip: H. Lamb, Hydrodynamics, section 71, pi/4 b^2 per
length.
"""

import numpy as np
import pytest

from seamlight.plate.air_load import air_density_kg_m3, air_mass

BROADSIDE = {1: 0.579, 1.25: 0.642, 1.5: 0.690, 2: 0.757, 2.5: 0.801, 3: 0.830, 4: 0.872, 5: 0.897, 8: 0.934}


@pytest.mark.parametrize(("aspect", "coefficient"), BROADSIDE.items())
def test_a_rectangle_moving_broadside(aspect: float, coefficient: float) -> None:
    per_area = air_mass("ee", 100 * aspect, 100, 2, 1000.0)[0, 0] * 1e12
    assert per_area / (1000 * np.pi / 4 * 100) == pytest.approx(coefficient, abs=0.003)


def test_a_long_strip_carries_a_cylinder_of_its_width() -> None:
    per_area = air_mass("ee", 10_000, 100, 2, 1000.0)[0, 0] * 1e12
    assert per_area == pytest.approx(1000 * np.pi / 4 * 100, rel=0.01)


def test_a_turning_strip() -> None:
    # H. Lamb, section 71: a strip turning about its middle line carries a moment pi/128 rho b^4 per length;
    # the product of degree 1 across has mean square 1, so speed at the edge is sqrt(3):
    # pi/128 b^4 (2 sqrt(3) / b)^2 / b
    per_area = air_mass("eo", 10_000, 100, 2, 1000.0)[0, 0] * 1e12
    assert per_area == pytest.approx(1000 * np.pi / 128 * 12 * 100, rel=0.01)


def test_density_of_air() -> None:
    # ISO 2533 standard atmosphere at 15 degrees C: 1.225 kg/m3 (from memory)
    assert air_density_kg_m3(15) == pytest.approx(1.225, abs=0.001)
