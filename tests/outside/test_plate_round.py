"""The finite elements of the outline's plate on shapes whose frequencies are known.

Circular isotropic plates, nu 0.3: lambda^2 of A. W. Leissa, NASA SP-160 (1969), chapter 2 (from memory):
clamped 10.2158, 21.26, 34.88; hinged 4.935, 13.898, 25.613; free 5.358 (two diameters), 9.003, 12.439.
Hinged rectangle: the exact formula, collected beside the shared data.
"""

from math import pi, sqrt

import numpy as np
import pytest

from seamlight.plate.finite import Edge, assemble, give, kept_unknowns, lowest_modes
from seamlight.plate.outline_mesh import mesh
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2

RADIUS = 150.0
CIRCLE = RADIUS * np.stack([[np.cos(t), np.sin(t)] for t in np.linspace(0, 2 * pi, 600, endpoint=False)])
STEEL = Elastic(1000, 1000, 1000 / 2.6, 0.3)


@pytest.mark.parametrize(
    ("edge", "wanted"),
    [
        ("clamped", (10.2158, 21.26, 21.26, 34.88)),
        ("hinged", (4.935, 13.898, 13.898, 25.613)),
        ("free", (5.358, 5.358, 9.003, 12.439)),
    ],
)
def test_round_plates(edge: Edge, wanted: tuple[float, ...]) -> None:
    grid, plate, mass = mesh(CIRCLE, 10.0), bending(STEEL, 2.0), mass_t_mm2(1000, 2.0)
    hz, _ = lowest_modes(assemble(grid, plate), kept_unknowns(grid, edge), mass, 4, edge)
    np.testing.assert_allclose(2 * pi * hz * RADIUS**2 * sqrt(mass / plate.along), wanted, rtol=2.5e-3)


def test_round_clamped_plate_under_a_weight_in_its_middle() -> None:
    # S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells (1959), section 19 (from memory):
    # P R^2 / 16 pi D under a weight in the middle of a clamped plate
    grid, plate = mesh(CIRCLE, 10.0), bending(STEEL, 2.0)
    parts = assemble(grid, plate)
    load = np.zeros(3 * len(grid.nodes_mm))
    middle = int(np.argmin(np.linalg.norm(grid.nodes_mm, axis=1)))
    load[3 * middle] = 1.0
    r = float(np.linalg.norm(grid.nodes_mm[middle]))
    assert r < 6
    found = give(parts, kept_unknowns(grid, "clamped"), load)
    at = (1 - (r / RADIUS) ** 2) ** 2  # a weight off the middle by r sinks by so much less (the same section)
    assert found == pytest.approx(at * RADIUS**2 / (16 * pi * plate.along), rel=0.01)


def test_hinged_orthotropic_rectangle() -> None:
    board = Elastic(11000, 858, 704, 0.372)
    length, width, thick = 500.0, 380.0, 3.0
    plate, mass = bending(board, thick), mass_t_mm2(400, thick)
    # f_mn = pi/2 sqrt((D11 m^4/a^4 + 2 (D12 + 2 D66) m^2 n^2/(a^2 b^2) + D22 n^4/b^4) / rho h), exact
    exact = sorted(
        pi
        / 2
        * sqrt(
            (
                plate.along * m**4 / length**4
                + 2 * (plate.coupling + 2 * plate.twist) * m**2 * n**2 / (length * width) ** 2
                + plate.across * n**4 / width**4
            )
            / mass
        )
        for m in range(1, 6)
        for n in range(1, 9)
    )
    corners = np.array([[0, 0], [width, 0], [width, length], [0, length]]) - (width / 2, 0)
    grid = mesh(corners, 12.0)
    hz, _ = lowest_modes(assemble(grid, plate), kept_unknowns(grid, "hinged"), mass, 5, "hinged")
    np.testing.assert_allclose(hz, exact[:5], rtol=5e-3)
