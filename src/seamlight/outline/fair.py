"""The fairest curve through the measures of a body: curvature is continuous and varies as little as it can.

The half outline is drawn by its curvature along its own length, a cubic spline k(s). Its integral is the
direction, the integral of the direction the curve, so no place can have a jump in curvature. Of all such
curves with the wanted widths the one with the least integral of (dk/ds)^2 is taken: a minimum variation curve
(H. P. Moreton, C. H. Sequin, "Functional optimization for fair surface design", SIGGRAPH 1992; from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline
from scipy.optimize import minimize

from seamlight.mistake import Mistake
from seamlight.outline.curve import NODES, WEIGHTS, Array, FairCurve
from seamlight.outline.measures import Measures

_PIECES = 28  # of the curvature spline; twice as many move no point of a generic size by 0.25 mm
_KNOTS = np.concatenate((np.zeros(3), np.linspace(0, 1, _PIECES + 1), np.ones(3)))
_COUNT = len(_KNOTS) - 4
_BASIS = BSpline(_KNOTS, np.eye(_COUNT), 3)
_SUM = _BASIS.antiderivative()  # of each basis function from u = 0
_EDGES = np.linspace(0, 1, _PIECES + 1)
_HALF = 0.5 / _PIECES
_GRID = ((_EDGES[:-1] + _HALF)[:, None] + _HALF * NODES).ravel()
_GRID_SUM = _SUM(_GRID)
_TURNS = np.array([0.5, 0.5, 0.5, 1.0]) * np.pi  # direction at upper bout, waist, lower bout, tail


def _stiffness() -> Array:
    """The matrix of the integral of (dk/du)^2."""
    slope = _BASIS.derivative()(_GRID)
    return np.asarray(slope.T @ (slope * np.tile(_HALF * WEIGHTS, _PIECES)[:, None]), dtype=np.float64)


_STIFFNESS = _stiffness()


def _rough_line(m: Measures) -> tuple[Array, Array]:
    """(n, 2) of a rough half outline, and the indices of bouts and waist: superellipse ends, cosine sides."""
    turn = np.linspace(0, np.pi / 2, 60)
    n = 2 / 2.3
    flat, upper, waist, lower = m.neck_flat_mm / 2, m.upper_bout_mm / 2, m.waist_mm / 2, m.lower_bout_mm / 2

    def side(y0: float, x0: float, y1: float, x1: float) -> Array:
        t = np.linspace(0, 1, 60)
        return np.stack([x0 + (x1 - x0) * (1 - np.cos(np.pi * t)) / 2, y0 + (y1 - y0) * t], axis=1)[1:]

    shoulder = np.stack(
        [flat + (upper - flat) * np.sin(turn) ** n, m.upper_at_mm * (1 - np.cos(turn) ** n)], axis=1
    )
    over = m.length_mm - m.lower_at_mm
    tail = np.stack([lower * np.cos(turn) ** n, m.lower_at_mm + over * np.sin(turn) ** n], axis=1)
    upper_side = side(m.upper_at_mm, upper, m.waist_at_mm, waist)
    lower_side = side(m.waist_at_mm, waist, m.lower_at_mm, lower)
    parts = [shoulder, upper_side, lower_side, tail[1:]]
    return np.concatenate(parts), np.cumsum([len(part) for part in parts])[:3] - 1


def _first_guess(m: Measures) -> Array:
    """The unknowns of the rough outline; lengths in body lengths."""
    points, corners = _rough_line(m)
    step = np.diff(points / m.length_mm, axis=0)
    s = np.concatenate(([0.0], np.cumsum(np.hypot(*step.T))))
    u = s / s[-1]
    angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    knots = np.concatenate((np.zeros(4), np.linspace(0, 1, 15), np.ones(4)))
    bend = make_lsq_spline((u[1:] + u[:-1]) / 2, angle, knots, k=4).derivative()
    at = np.linspace(0, 1, 400)
    curvature = make_lsq_spline(at, bend(at) / s[-1], _KNOTS, k=3).c
    return np.concatenate((curvature[1:], u[corners], [s[-1]]))


def _coefficients(z: Array) -> Array:
    # the neck flat is straight, so the curve must leave it with no curvature
    return np.concatenate(([0.0], z[: _COUNT - 1]))


class _Wanted:
    """How far a curve passes by the measures.

    Unknowns z: the curvature's coefficients but the first, which is 0, then u of upper bout, waist and lower
    bout, then the length; all in body lengths.
    """

    def __init__(self, m: Measures) -> None:
        flat = m.neck_flat_mm / 2
        widths = np.array([m.upper_bout_mm, m.waist_mm, m.lower_bout_mm, 0.0]) / 2 - flat
        along = np.array([m.upper_at_mm, m.waist_at_mm, m.lower_at_mm, m.length_mm])
        self.places = np.stack([widths, along], axis=1) / m.length_mm
        self.waist_bend = None if m.waist_radius_mm is None else -m.length_mm / m.waist_radius_mm

    def misses(self, z: Array) -> Array:
        return self._both(z)[0]

    def slopes(self, z: Array) -> Array:
        return self._both(z)[1]

    def _both(self, z: Array) -> tuple[Array, Array]:
        """Misses in place, direction and waist radius, and their Jacobian."""
        c, length = _coefficients(z), float(z[-1])
        ends = np.append(z[-4:-1], 1.0)
        panel = np.clip((ends * _PIECES).astype(int), 0, _PIECES - 1)
        over = (ends - _EDGES[panel]) / 2  # half of the last, partial panel
        last = ((_EDGES[panel] + over)[:, None] + over[:, None] * NODES).ravel()
        place, slope = np.zeros((4, 2)), np.zeros((4, 2, _COUNT))
        for sums, weight, count, own in (
            (_GRID_SUM, np.tile(_HALF * WEIGHTS, _PIECES), panel, False),
            (_SUM(last), (over[:, None] * WEIGHTS).ravel(), np.arange(4), True),
        ):
            angle = length * (sums @ c)
            way = np.stack([np.cos(angle), np.sin(angle)], axis=1) * weight[:, None]
            turn = np.stack([-way[:, 1], way[:, 0]], axis=1)[:, :, None] * sums[:, None, :]
            way, turn = (part.reshape(-1, len(NODES), *part.shape[1:]).sum(1) for part in (way, turn))
            if own:
                place, slope = place + way, slope + turn
            else:
                zero_way, zero_turn = np.zeros((1, 2)), np.zeros((1, 2, _COUNT))
                place = np.concatenate((zero_way, np.cumsum(way, axis=0)))[count]
                slope = np.concatenate((zero_turn, np.cumsum(turn, axis=0)))[count]
        sums, basis = _SUM(ends), _BASIS(ends)
        turned, bend = sums @ c, basis @ c
        heading = np.stack([np.cos(length * turned), np.sin(length * turned)], axis=1)
        by_length = place + length * np.einsum("ijk,k->ij", slope, c)
        rows = np.zeros((13, _COUNT + 4))
        rows[:8, :_COUNT] = length**2 * slope.reshape(8, _COUNT)
        rows[:8, -1] = by_length.ravel()
        rows[8:12, :_COUNT] = length * sums
        rows[8:12, -1] = turned
        for i in range(3):
            rows[2 * i : 2 * i + 2, _COUNT + i] = length * heading[i]
            rows[8 + i, _COUNT + i] = length * bend[i]
        rows[12, :_COUNT] = basis[1] / 30
        rows[12, _COUNT + 1] = (_BASIS.derivative()(ends[1:2])[0] @ c) / 30
        found = np.concatenate(
            (
                (length * place - self.places).ravel(),
                length * turned - _TURNS,
                [(bend[1] - (self.waist_bend or 0)) / 30],
            )
        )
        count = 12 if self.waist_bend is None else 13
        return found[:count], rows[:count, 1:]


def _roughness(z: Array) -> tuple[float, Array]:
    """The integral of (dk/ds)^2 in body lengths, scaled near 1, and its gradient."""
    c = _coefficients(z)
    bent = _STIFFNESS @ c
    slope = np.zeros_like(z)
    slope[: _COUNT - 1] = 2 * bent[1:] / z[-1]
    slope[-1] = -(c @ bent) / z[-1] ** 2
    return float(c @ bent / z[-1]) * 1e-3, slope * 1e-3


def _inflections(curvature: Array) -> int:
    signs = np.sign(curvature[np.abs(curvature) > 1e-9])
    return int(np.count_nonzero(np.diff(signs)))


@lru_cache(maxsize=64)
def fair_curve(m: Measures) -> FairCurve:
    """The fairest side line with these measures; they are met to 1e-7 mm or better.

    Raises:
        Mistake: no fair curve has these measures.
    """
    wanted = _Wanted(m)
    solved = minimize(
        _roughness,
        _first_guess(m),
        jac=True,
        method="SLSQP",
        constraints={"type": "eq", "fun": wanted.misses, "jac": wanted.slopes},
        options={"maxiter": 300, "ftol": 1e-13},
    )
    z = np.asarray(solved.x, dtype=np.float64)
    for _ in range(4):  # Newton steps of least change take what is left of the misses
        z = z - np.linalg.lstsq(wanted.slopes(z), wanted.misses(z), rcond=None)[0]
    spline = BSpline(_KNOTS, _coefficients(z) / m.length_mm, 3)
    met = np.abs(wanted.misses(z)).max() < 1e-10
    if not met or _inflections(spline(np.linspace(0, 1, 4000))) != 2 or not 0 < z[-4] < z[-3] < z[-2] < 1:
        raise Mistake(
            "no fair curve has these measures",
            where=m.name,
            do="move the waist or the bouts, or ask for another waist radius",
        )
    length_mm = float(z[-1] * m.length_mm)
    upper, waist, lower = (float(u * length_mm) for u in z[-4:-1])
    return FairCurve(m.neck_flat_mm / 2, length_mm, spline, (upper, waist, lower))
