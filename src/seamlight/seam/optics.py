"""What a camera sees of a lamp through a slit as deep as the leaves are thick.

A ray that starts at a place of the lens u away from the joint's plane leans by u/D against it, so it loses
u/D x t of the gap to the two walls: the slit seems g - t |u| / D wide from there, or dark. The lens gathers
the mean of that over its round opening. (Geometry; a fine slit's diffraction and what its walls throw back
are left out.) Lengths along the joint do not enter: an oblique ray's depth and distance grow alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_NODES = 96
_WIDEST_MM = 2.0


@dataclass(frozen=True)
class Sight:
    """Where the camera stands before the joint; the lens's opening is that of a phone's main camera."""

    depth_mm: float = 4.0  # the leaves' thickness
    distance_mm: float = 400.0  # lens to joint
    lens_mm: float = 3.3  # diameter of the lens's opening: focal length over f-number (from memory)
    off_plane_mm: float = 0.0  # the lens's middle from the plane of the joint

    @property
    def lost_per_mm(self) -> float:
        """Gap lost to the walls for each mm that a place of the lens lies off the joint's plane."""
        return self.depth_mm / self.distance_mm


def seen_width_mm(gap_mm: Floats | float, sight: Sight) -> Floats:
    """Width of bare lamp that would send as much light, mm; same shape as the gap."""
    nodes, weights = _round_lens(sight.lens_mm / 2)
    lost = sight.lost_per_mm * np.abs(nodes + sight.off_plane_mm)
    gap = np.atleast_1d(np.asarray(gap_mm, dtype=np.float64))
    seen = np.maximum(gap[..., None] - lost, 0.0) @ weights
    return np.asarray(seen.reshape(np.shape(gap_mm)), dtype=np.float64)


def gap_of_seen_mm(seen_mm: Floats, sight: Sight) -> Floats:
    """The gap behind a seen width: the inverse of `seen_width_mm`.

    Nothing seen gives the widest gap that is hidden; a negative width (noise) is carried on with the slope of
    a wide gap, so that a mean over noise is not pulled up.
    """
    most = max(_WIDEST_MM, float(np.max(seen_mm, initial=0.0)) * 1.2)
    gaps = np.concatenate([np.linspace(0.0, 0.2, 401), np.linspace(0.2, most, 401)[1:]])
    widths = seen_width_mm(gaps, sight)
    first = int(np.searchsorted(widths, 1e-6))
    found = np.interp(seen_mm, widths[max(first - 1, 0) :], gaps[max(first - 1, 0) :])
    return np.asarray(found + np.minimum(seen_mm, 0.0), dtype=np.float64)


def hidden_mm(sight: Sight) -> float:
    """The widest gap of which nothing is seen."""
    return sight.lost_per_mm * max(0.0, abs(sight.off_plane_mm) - sight.lens_mm / 2)


def offset_mm(sight: Sight) -> float:
    """What a wide gap loses: gap less seen width; some 0.007 mm for 4 mm leaves 400 mm away."""
    return float(1.0 - seen_width_mm(1.0, sight))


def off_plane_of(offset: float, sight: Sight) -> float:
    """How far off its plane the lens stood, mm, from what wide gaps lose; not below 0."""
    places = np.linspace(0.0, 20.0 * sight.distance_mm / 400.0, 400)
    nodes, weights = _round_lens(sight.lens_mm / 2)
    losses = sight.lost_per_mm * np.abs(nodes[None, :] + places[:, None]) @ weights
    return float(np.interp(offset, losses, places))


def _round_lens(radius_mm: float) -> tuple[Floats, Floats]:
    """Places across a round opening and their shares of its area: Gauss-Chebyshev of the second kind, whose
    weight is the circle's chord (Abramowitz and Stegun 25.4.40)."""
    angle = np.arange(1, _NODES + 1) * np.pi / (_NODES + 1)
    weights = 2.0 / (_NODES + 1) * np.sin(angle) ** 2
    return radius_mm * np.cos(angle), weights
