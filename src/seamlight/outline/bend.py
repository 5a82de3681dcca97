"""The splines that curvatures are made of, and how rough a curvature is.

A curve is drawn by its curvature along its own length, a cubic spline k(u), u = s / length. Its integral is
the direction, the integral of the direction the curve, so no place can have a jump in curvature.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import BSpline

from seamlight.outline.curve import NODES, WEIGHTS, Array

PIECES = 28  # of the curvature spline; twice as many move no point of a generic size by 0.25 mm
KNOTS = np.concatenate((np.zeros(3), np.linspace(0, 1, PIECES + 1), np.ones(3)))
COUNT = len(KNOTS) - 4
BASIS = BSpline(KNOTS, np.eye(COUNT), 3)
SLOPE = BASIS.derivative()
SLOPE_2 = BASIS.derivative(2)
SUM = BASIS.antiderivative()  # of each basis function from u = 0
EDGES = np.linspace(0, 1, PIECES + 1)
HALF = 0.5 / PIECES
GRID = ((EDGES[:-1] + HALF)[:, None] + HALF * NODES).ravel()
GRID_SUM = SUM(GRID)
GRID_WEIGHTS = np.tile(HALF * WEIGHTS, PIECES)


def _stiffness() -> Array:
    """The matrix of the integral of (dk/du)^2."""
    slope = SLOPE(GRID)
    return np.asarray(slope.T @ (slope * GRID_WEIGHTS[:, None]), dtype=np.float64)


STIFFNESS = _stiffness()


def roughness(c: Array, length: float) -> tuple[float, Array, float]:
    """The integral of (dk/ds)^2 over a curve, scaled near 1, and its slopes over c and over the length.

    Args:
        c: (COUNT,) coefficients of the curvature; they and the length in body lengths.
        length: of the curve.
    """
    bent = STIFFNESS @ c
    whole = float(c @ bent)
    return 1e-3 * whole / length, 2e-3 * bent / length, -1e-3 * whole / length**2
