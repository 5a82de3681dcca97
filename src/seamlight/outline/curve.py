"""A curve drawn by its curvature along its own length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Array = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True, eq=False)
class BentLine:
    """A curve in the body frame from s = 0 to s = length_mm."""

    start_mm: tuple[float, float]
    heading: float  # at the start, radians; 0 along +x, pi / 2 along +y
    length_mm: float
    curvature_1_mm: BSpline  # of u = s / length_mm; above 0 where the body is convex

    def curvature(self, s_mm: Array) -> Array:
        """1/mm at each s; above 0 where the body is convex, below 0 at the waist."""
        return np.asarray(self.curvature_1_mm(np.asarray(s_mm) / self.length_mm), dtype=np.float64)

    def points(self, s_mm: Array) -> Array:
        """(n, 2) mm in the body frame at s increasing from 0 on."""
        places = np.asarray(s_mm, dtype=np.float64) / self.length_mm
        u = np.unique(np.concatenate((places, self.curvature_1_mm.t)))  # no panel reaches across a knot
        walked = np.concatenate((np.zeros((1, 2)), np.cumsum(self._steps(u), axis=0)))
        return np.asarray(self.start_mm + walked[np.searchsorted(u, places)], dtype=np.float64)

    def _steps(self, u: Array) -> Array:
        """(n - 1, 2) mm from each u to the next, by Gauss-Legendre quadrature."""
        half = np.diff(u)[:, None] / 2
        turned = self.curvature_1_mm.antiderivative()((u[:-1, None] + half) + half * NODES)
        angle = self.heading + self.length_mm * turned
        weights = self.length_mm * half * WEIGHTS
        return np.stack([(weights * np.cos(angle)).sum(1), (weights * np.sin(angle)).sum(1)], axis=1)
