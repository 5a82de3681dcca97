"""A curve drawn by its curvature along its own length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Array = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)


def steps(curvature: BSpline, length: float, u: Array) -> Array:
    """(n - 1, 2): how far the curve goes between neighbours of u, by Gauss-Legendre quadrature.

    `curvature` is of u = s / length, in 1 / (the unit of length), starting along +x; u increases.
    """
    half = np.diff(u)[:, None] / 2
    angle = length * curvature.antiderivative()((u[:-1, None] + half) + half * NODES)
    return length * np.stack(
        [(half * WEIGHTS * np.cos(angle)).sum(1), (half * WEIGHTS * np.sin(angle)).sum(1)], axis=1
    )


@dataclass(frozen=True, eq=False)
class FairCurve:
    """The right half's side line from the end of the neck flat (s = 0) to the tail (s = length_mm)."""

    start_mm: float  # half width of the neck flat
    length_mm: float
    curvature_1_mm: BSpline  # of u = s / length_mm; above 0 where the body is convex
    at_mm: tuple[float, float, float]  # s of the upper bout, the waist and the lower bout

    def curvature(self, s_mm: Array) -> Array:
        """1/mm at each s; above 0 where the body is convex, below 0 at the waist."""
        return np.asarray(self.curvature_1_mm(np.asarray(s_mm) / self.length_mm), dtype=np.float64)

    def points(self, s_mm: Array) -> Array:
        """(n, 2) mm in the body frame at s increasing from 0 on."""
        places = np.asarray(s_mm, dtype=np.float64) / self.length_mm
        knots = self.curvature_1_mm.t
        u = np.unique(np.concatenate((places, knots)))  # a panel never reaches across a knot
        walked = np.concatenate(
            (np.zeros((1, 2)), np.cumsum(steps(self.curvature_1_mm, self.length_mm, u), axis=0))
        )
        return np.asarray(
            np.array([self.start_mm, 0.0]) + walked[np.searchsorted(u, places)], dtype=np.float64
        )
