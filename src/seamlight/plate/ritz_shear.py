"""Free rectangular plate with shear through its thickness and rotary inertia: how much they lower its modes.

Only the ratio to the thin plate is wanted: it changes so slowly with the constants that few terms serve.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

from seamlight.plate.legendre import Array, products
from seamlight.plate.ritz import Symmetry
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2

# R. D. Mindlin, J. Appl. Mech. 18 (1951) 31, takes pi^2 / 12; 5/6 is E. Reissner's, J. Appl. Mech. 12
# (1945) A69 (both citations from memory); the Timoshenko figures that the tests compare with use 5/6
SHEAR_FACTOR = 5 / 6
# Twisting has edge zones a few thicknesses wide and asks for more terms: within 0.05 % of converged
TERMS: dict[Symmetry, int] = {"ee": 8, "eo": 10, "oe": 10, "oo": 16}
_OTHER = {"e": "o", "o": "e"}


@cache
def _degrees(parity: str, terms: int) -> NDArray[np.intp]:
    return np.arange(0 if parity == "e" else 1, terms, 2, dtype=np.intp)


def _kron(parities: tuple[str, str, str, str], orders: tuple[int, int, int, int], terms: int) -> Array:
    """Integral over the square of d^o1_x d^o2_y of one field by d^o3_x d^o4_y of another.

    `parities`: along of the first, across of the first, along of the second, across of the second.
    """
    x = products(terms, orders[0], orders[2])[
        np.ix_(_degrees(parities[0], terms), _degrees(parities[2], terms))
    ]
    y = products(terms, orders[1], orders[3])[
        np.ix_(_degrees(parities[1], terms), _degrees(parities[3], terms))
    ]
    return np.asarray(np.kron(x, y), dtype=np.float64)


@cache
def _blocks(symmetry: Symmetry, terms: int) -> dict[str, Array]:
    """Integrals of the fields w, p (turn of the fibre along) and q (across), by their derivatives."""
    i, j = symmetry[0], symmetry[1]
    w, p, q = (i, j), (_OTHER[i], j), (i, _OTHER[j])
    return {
        "px px": _kron((*p, *p), (1, 0, 1, 0), terms),
        "px qy": _kron((*p, *q), (1, 0, 0, 1), terms),
        "qy qy": _kron((*q, *q), (0, 1, 0, 1), terms),
        "py py": _kron((*p, *p), (0, 1, 0, 1), terms),
        "py qx": _kron((*p, *q), (0, 1, 1, 0), terms),
        "qx qx": _kron((*q, *q), (1, 0, 1, 0), terms),
        "wx wx": _kron((*w, *w), (1, 0, 1, 0), terms),
        "wy wy": _kron((*w, *w), (0, 1, 0, 1), terms),
        "wx p": _kron((*w, *p), (1, 0, 0, 0), terms),
        "wy q": _kron((*w, *q), (0, 1, 0, 0), terms),
        "p p": _kron((*p, *p), (0, 0, 0, 0), terms),
        "q q": _kron((*q, *q), (0, 0, 0, 0), terms),
    }


def thick_class_hz(
    symmetry: Symmetry,
    elastic: Elastic,
    density_kg_m3: float,
    size_mm: tuple[float, float, float],
    count: int,
    terms: int | None = None,
) -> Array:
    """The lowest `count` frequencies of one symmetry class, Hz, in a vacuum.

    `size_mm` is length, width, thickness; shear through the thickness as `elastic` has it.
    """
    length, width, thick = size_mm
    a, b = 2 / length, 2 / width
    plate, part = bending(elastic, thick), _blocks(symmetry, terms or TERMS[symmetry])
    # R. D. Mindlin, J. Appl. Mech. 18 (1951) 31: shear forces k G h (w_x + p), k G h (w_y + q)
    along = SHEAR_FACTOR * elastic.g_along_thick_mpa * thick
    across = SHEAR_FACTOR * elastic.g_across_thick_mpa * thick
    ww = along * a**2 * part["wx wx"] + across * b**2 * part["wy wy"]
    wp, wq = along * a * part["wx p"], across * b * part["wy q"]
    pp = plate.along * a**2 * part["px px"] + plate.twist * b**2 * part["py py"] + along * part["p p"]
    qq = plate.across * b**2 * part["qy qy"] + plate.twist * a**2 * part["qx qx"] + across * part["q q"]
    pq = a * b * (plate.coupling * part["px qy"] + plate.twist * part["py qx"])
    stiffness = np.block([[ww, wp, wq], [wp.T, pp, pq], [wq.T, pq.T, qq]])
    mass = mass_t_mm2(density_kg_m3, thick)
    turning = mass * thick**2 / 12
    inertia = np.concatenate([np.full(len(ww), mass), np.full(len(pp), turning), np.full(len(qq), turning)])
    scale = 1 / np.sqrt(inertia)
    rigid = 0 if symmetry == "oo" else 1
    squared = eigh(
        stiffness * np.outer(scale, scale), eigvals_only=True, subset_by_index=(rigid, rigid + count - 1)
    )
    return np.asarray(np.sqrt(np.maximum(squared, 0)) / (2 * np.pi), dtype=np.float64)
