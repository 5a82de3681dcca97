"""A reading at a leaf's stations, smoothed as far as its error allows."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from seamlight.seam.leaf import Floats, Leaf, stations
from seamlight.seam.profile import Profile, fit_gap


def gap_at_stations(fit: Profile, leaf: Leaf) -> Floats:
    """(n,) the fit gap at the leaf's stations, as smooth as the reading's error allows.

    Noise would hold a stiff leaf open: of all lines that lie off the reading by no more than its error, the
    one whose curvature changes least. A parabola stays what it is.
    """
    s = stations(leaf)
    places = (fit.s_mm - fit.s_mm[0]) * leaf.length_mm / fit.length_mm
    # Whittaker 1923 with third differences; how much of it by Morozov's discrepancy principle (1966): as much
    # as leaves the reading off by its error, of which `error_mm` is two standard ones
    step = s[1] - s[0]
    at = np.clip((places / step).astype(int), 0, s.size - 2)
    share = places / step - at
    read = np.zeros((places.size, s.size))
    read[np.arange(places.size), at] = 1 - share
    read[np.arange(places.size), at + 1] += share
    changes = np.diff(np.eye(s.size), 3, axis=0)
    bends = np.diff(np.eye(s.size), 2, axis=0)
    rough = changes.T @ changes + 1e-9 * bends.T @ bends
    normal, right = read.T @ read, read.T @ fit.gap_mm

    def line(log_weight: float) -> Floats:
        return np.asarray(np.linalg.solve(normal + 10.0**log_weight * rough, right))

    def off(log_weight: float) -> float:
        return float(np.mean((read @ line(log_weight) - fit.gap_mm) ** 2) - (fit.error_mm / 2) ** 2)

    least, most = -6.0, 8.0
    weight = most if off(most) <= 0 else least if off(least) >= 0 else brentq(off, least, most, xtol=0.05)
    smooth = np.clip(line(float(weight)), 0.0, fit.gap_mm.max())
    return fit_gap(Profile(s, smooth, 0.0)).gap_mm
