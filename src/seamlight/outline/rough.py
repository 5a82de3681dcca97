"""Rough lines near a wanted curve: where the search for the fair one starts."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import make_lsq_spline

from seamlight.outline.bend import KNOTS
from seamlight.outline.curve import Array
from seamlight.outline.places import Wanted

QUARTER = np.linspace(0, np.pi / 2, 60)


def slope_line(x0: float, y0: float, x1: float, y1: float) -> Array:
    """(59, 2) from (x0, y0) on to (x1, y1), along y at both ends; the first point left out."""
    t = np.linspace(0, 1, 60)
    return np.stack([x0 + (x1 - x0) * (1 - np.cos(np.pi * t)) / 2, y0 + (y1 - y0) * t], axis=1)[1:]


def guess(points: Array, corners: list[int], wanted: Wanted) -> Array:
    """The unknowns of a curve along a rough line.

    Args:
        points: (n, 2) mm, from the start to the last place.
        corners: the index of the point at each place but the last.
        wanted: what is to be met.
    """
    step = np.diff(points / wanted.size_mm, axis=0)
    s = np.concatenate(([0.0], np.cumsum(np.hypot(*step.T))))
    u = s / s[-1]
    angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    knots = np.concatenate((np.zeros(4), np.linspace(0, 1, 15), np.ones(4)))
    bend = make_lsq_spline((u[1:] + u[:-1]) / 2, angle, knots, k=4).derivative()
    at = np.linspace(0, 1, 400)
    curvature = make_lsq_spline(at, bend(at) / s[-1], KNOTS, k=3).c
    return np.concatenate((curvature[wanted.first :], u[corners], [s[-1]]))
