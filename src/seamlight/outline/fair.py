"""The fairest curve through its places: curvature is continuous and varies as little as it can.

Of all curves that pass the wanted places the one with the least integral of (dk/ds)^2 is taken, k the
curvature: a minimum variation curve (H. P. Moreton, C. H. Sequin, "Functional optimization for fair surface
design", SIGGRAPH 1992; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline
from scipy.optimize import minimize

from seamlight.outline.bend import COUNT, KNOTS, roughness
from seamlight.outline.curve import Array, BentLine
from seamlight.outline.places import Wanted

_MET = 1e-10  # of a body's length


@dataclass(frozen=True, eq=False)
class Fair:
    """The curve that was found."""

    line: BentLine
    at_mm: tuple[float, ...]  # s of every place but the last
    met: bool  # every place is met, and they follow each other along the curve


def fairest(wanted: Wanted, first_guess: Array) -> Fair:
    """The fairest curve past the wanted places; `met` is False where the search did not get there.

    Args:
        wanted: where it starts and the places it has to pass.
        first_guess: unknowns of a curve near it.
    """

    def rough(z: Array) -> tuple[float, Array]:
        value, by_c, by_length = roughness(wanted.coefficients(z), float(z[-1]))
        free = np.zeros(len(z) - 1 - COUNT + wanted.first)
        return value, np.concatenate((by_c[wanted.first :], free, [by_length]))

    solved = minimize(
        rough,
        first_guess,
        jac=True,
        method="SLSQP",
        constraints={"type": "eq", "fun": wanted.misses, "jac": wanted.slopes},
        options={"maxiter": 300, "ftol": 1e-13},
    )
    z = np.asarray(solved.x, dtype=np.float64)
    met = bool(np.isfinite(z).all())
    for _ in range(4 if met else 0):  # Newton steps of least change take what is left of the misses
        z = z - np.linalg.lstsq(wanted.slopes(z), wanted.misses(z), rcond=None)[0]
    at = np.concatenate(([0.0], wanted.at(z)))
    met = met and bool(np.abs(wanted.misses(z)).max() < _MET and (np.diff(at) > 0).all())
    length_mm = float(z[-1] * wanted.size_mm)
    start = wanted.start
    line = BentLine(
        (start.x_mm, start.y_mm),
        start.heading,
        length_mm,
        BSpline(KNOTS, wanted.coefficients(z) / wanted.size_mm, 3),
    )
    return Fair(line, tuple(float(u * length_mm) for u in at[1:-1]), met)


def bends_over(line: BentLine) -> int:
    """How often the curve changes from convex to hollow or back."""
    curvature = line.curvature(np.linspace(0, line.length_mm, 4000))
    signs = np.sign(curvature[np.abs(curvature) > 1e-9 / line.length_mm])
    return int(np.count_nonzero(np.diff(signs)))
