"""Places that a curve has to pass, and how far it passes by them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.outline.bend import (
    BASIS,
    COUNT,
    EDGES,
    GRID_SUM,
    GRID_WEIGHTS,
    PIECES,
    SLOPE,
    SLOPE_2,
    SUM,
)
from seamlight.outline.curve import NODES, WEIGHTS, Array

# brings misses in curvature and its change, in body lengths, near those in x, y and heading
_SCALE = (1.0, 1.0, 1.0, 1 / 30, 1e-3)


@dataclass(frozen=True)
class Place:
    """What is wanted at one place of a curve; None where it is free. mm in the body frame, radians."""

    x_mm: float | None = None
    y_mm: float | None = None
    heading: float | None = None  # 0 where the curve goes to +x, pi / 2 where it goes to +y
    bend_1_mm: float | None = None  # curvature; above 0 where the body is convex
    bend_change_1_mm2: float | None = None  # of the curvature along the curve


@dataclass(frozen=True)
class Start:
    """Where a curve begins."""

    x_mm: float
    y_mm: float
    heading: float
    straight: bool  # it leaves a straight line, so with no curvature


class Wanted:
    """How far a curve passes by its places.

    Unknowns z: the coefficients of the curvature (without the first, which is 0, after a straight), then u of
    every place but the last, which is the curve's end, then the length; all in body lengths (`size_mm`).
    """

    def __init__(self, start: Start, places: tuple[Place, ...], size_mm: float) -> None:
        self.start, self.places, self.size_mm = start, places, size_mm
        self.first = 1 if start.straight else 0

    def coefficients(self, z: Array) -> Array:
        return np.concatenate((np.zeros(self.first), z[: COUNT - self.first]))

    def at(self, z: Array) -> Array:
        """u of every place."""
        return np.append(z[COUNT - self.first : -1], 1.0)

    def misses(self, z: Array) -> Array:
        return self._both(z)[0]

    def slopes(self, z: Array) -> Array:
        return self._both(z)[1]

    def _both(self, z: Array) -> tuple[Array, Array]:
        """Misses, and their Jacobian over z."""
        c, u, length = self.coefficients(z), self.at(z), float(z[-1])
        place, slope = _walked(c, u, length, self.start.heading)
        sums, basis, change = SUM(u), BASIS(u), SLOPE(u)
        heading = self.start.heading + length * (sums @ c)
        bend, bend_u, bend_uu = basis @ c, change @ c, SLOPE_2(u) @ c
        way = np.stack([np.cos(heading), np.sin(heading)], axis=1)
        by_length = place + length * (slope @ c)
        wanted = self._wanted()
        misses: list[float] = []
        rows: list[Array] = []

        def add(i: int, kind: int, value: float, over_c: Array, over_u: float, over_length: float) -> None:
            if np.isnan(wanted[i, kind]):
                return
            at = np.zeros(len(u))
            at[i] = over_u
            misses.append(_SCALE[kind] * (value - wanted[i, kind]))
            rows.append(_SCALE[kind] * np.concatenate((over_c[self.first :], at[:-1], [over_length])))

        for i in range(len(u)):
            for k in (0, 1):
                along = length * way[i, k]
                add(i, k, length * place[i, k], length**2 * slope[i, k], along, by_length[i, k])
            add(i, 2, heading[i], length * sums[i], length * bend[i], float(sums[i] @ c))
            add(i, 3, bend[i], basis[i], bend_u[i], 0.0)
            per_s = bend_u[i] / length
            add(i, 4, per_s, change[i] / length, bend_uu[i] / length, -per_s / length)
        return np.array(misses), np.array(rows)

    def _wanted(self) -> Array:
        """(n, 5) what is wanted at each place, in body lengths from the start; NaN where it is free."""
        table = np.array(
            [
                [
                    np.nan if value is None else value
                    for value in (p.x_mm, p.y_mm, p.heading, p.bend_1_mm, p.bend_change_1_mm2)
                ]
                for p in self.places
            ]
        )
        size = self.size_mm
        return (table - (self.start.x_mm, self.start.y_mm, 0, 0, 0)) * (1 / size, 1 / size, 1, size, size**2)


def _walked(c: Array, u: Array, length: float, heading: float) -> tuple[Array, Array]:
    """(n, 2) places at u over the length, and their slopes (n, 2, COUNT) over c, over the length squared."""
    panel = np.clip((u * PIECES).astype(int), 0, PIECES - 1)
    over = (u - EDGES[panel]) / 2  # half of the last, partial panel
    last = ((EDGES[panel] + over)[:, None] + over[:, None] * NODES).ravel()
    way, turn = _panels(c, length, heading, GRID_SUM, GRID_WEIGHTS)
    to_way = np.concatenate((np.zeros((1, 2)), np.cumsum(way, axis=0)))[panel]
    to_turn = np.concatenate((np.zeros((1, 2, COUNT)), np.cumsum(turn, axis=0)))[panel]
    own_way, own_turn = _panels(c, length, heading, SUM(last), (over[:, None] * WEIGHTS).ravel())
    return to_way + own_way, to_turn + own_turn


def _panels(c: Array, length: float, heading: float, sums: Array, weights: Array) -> tuple[Array, Array]:
    """How far the curve goes over each panel of Gauss-Legendre nodes, and the slopes of that over c."""
    angle = heading + length * (sums @ c)
    way = np.stack([np.cos(angle), np.sin(angle)], axis=1) * weights[:, None]
    turn = np.stack([-way[:, 1], way[:, 0]], axis=1)[:, :, None] * sums[:, None, :]
    per = len(NODES)
    return way.reshape(-1, per, 2).sum(1), turn.reshape(-1, per, 2, COUNT).sum(1)
