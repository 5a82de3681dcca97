"""Orthonormal Legendre polynomials on -1..1 and the integrals of their products."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

Array = NDArray[np.float64]


def basis(x: Array, terms: int, derivative: int = 0) -> Array:
    """(n, terms) values at x of the polynomials of degree 0 to terms - 1, or of a derivative of them."""
    columns = np.diag(np.sqrt(np.arange(terms) + 0.5))
    coefficients = legendre.legder(columns, derivative, axis=0) if derivative else columns
    return np.asarray(legendre.legval(np.asarray(x, dtype=np.float64), coefficients).T, dtype=np.float64)


def gauss(points: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss-Legendre quadrature on -1..1."""
    nodes, weights = legendre.leggauss(points)
    return np.asarray(nodes, dtype=np.float64), np.asarray(weights, dtype=np.float64)


@cache
def products(terms: int, left: int, right: int) -> Array:
    """(terms, terms) integrals over -1..1 of the `left`-th derivative of one by the `right`-th of another."""
    nodes, weights = gauss(terms + 1)
    one = basis(nodes, terms, left)
    integral = (one * weights[:, None]).T @ basis(nodes, terms, right)
    integral.setflags(write=False)
    return np.asarray(integral, dtype=np.float64)
