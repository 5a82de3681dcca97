"""Closed rings of points: spacing, normals, area, straight lines through their sides."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from seamlight.photo.flat import Points


def spaced(ring: Points, step: float) -> Points:
    """The closed ring with points every `step` or a little less."""
    closed = np.concatenate([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    at = np.linspace(0, along[-1], max(int(np.ceil(along[-1] / step)), 8), endpoint=False)
    return np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], axis=1)


def outward_normals(ring: Points, smooth: float) -> Points:
    """(n, 2) unit vectors pointing out of a closed ring, its direction smoothed over some points."""
    ahead = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    ahead = gaussian_filter1d(ahead, smooth, axis=0, mode="wrap")
    normal = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    return np.asarray(normal if signed_area(ring) > 0 else -normal, np.float64)


def signed_area(ring: Points) -> float:
    """Positive where the ring runs clockwise as seen (y down)."""
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)
