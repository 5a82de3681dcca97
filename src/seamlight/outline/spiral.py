"""Lines, arcs and the clothoids between them: a curve whose curvature runs straight from node to node."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.outline.curve import Array

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


@dataclass(frozen=True, eq=False)
class Spiral:
    """A curve in the body frame; every piece's curvature goes evenly from one value to the next."""

    start_mm: tuple[float, float]
    heading: float  # at the start, radians; 0 along +x, pi / 2 along +y
    pieces_mm: Array  # (n,) lengths, above 0
    curvature_1_mm: Array  # (n + 1,) at the nodes; above 0 where the body is convex

    @property
    def length_mm(self) -> float:
        return float(self.pieces_mm.sum())

    def curvature(self, s_mm: Array) -> Array:
        """1/mm at each s."""
        nodes = np.concatenate(([0.0], np.cumsum(self.pieces_mm)))
        return np.asarray(np.interp(s_mm, nodes, self.curvature_1_mm), dtype=np.float64)

    def at(self, s_mm: Array) -> tuple[Array, Array]:
        """(n, 2) mm and (n,) headings at each s, by Gauss-Legendre quadrature over each piece."""
        first, change = self.curvature_1_mm[:-1], np.diff(self.curvature_1_mm) / self.pieces_mm
        starts = np.concatenate(([0.0], np.cumsum(self.pieces_mm)))[:-1]
        s = np.atleast_1d(np.asarray(s_mm, dtype=np.float64))
        part = np.clip(s[:, None] - starts, 0.0, self.pieces_mm)
        # the integral of the curvature, which is linear over a piece
        turned = first * part + change * part**2 / 2
        before = self.heading + np.concatenate(
            ([0.0], np.cumsum(first * self.pieces_mm + change * self.pieces_mm**2 / 2)[:-1])
        )
        t = part[:, :, None] * (1 + _NODES) / 2
        angle = before[:, None] + first[:, None] * t + change[:, None] * t**2 / 2
        weights = part[:, :, None] * _WEIGHTS / 2
        gone = np.stack(
            [(weights * np.cos(angle)).sum((1, 2)), (weights * np.sin(angle)).sum((1, 2))], axis=1
        )
        return self.start_mm + gone, self.heading + turned.sum(1)
