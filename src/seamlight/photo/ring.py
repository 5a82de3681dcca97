"""Closed rings of points: spacing, normals, area, straight lines through their sides."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d, median_filter

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


def with_corners(ring: Points, span: int = 8, gap: int = 5, most_off: float = 2.5) -> Points:
    """The ring with corners that were rounded on the way put back where their two sides meet.

    Args:
        ring: (n, 2) evenly spaced.
        span: points of each side that its straight line is fitted to.
        gap: points to either side of the corner that are taken to be rounded.
        most_off: how far the meeting point may lie from the ring, in spacings; farther is a chip, and stays.
    """
    count = len(ring)
    if count < 4 * (span + gap):
        return ring
    far = gap + span - 1
    into = np.roll(ring, gap, axis=0) - np.roll(ring, far, axis=0)
    out = np.roll(ring, -far, axis=0) - np.roll(ring, -gap, axis=0)
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    bend = np.abs(np.arctan2(cross, np.sum(into * out, axis=1)))
    sharpest = np.flatnonzero(bend > np.radians(50)).tolist()
    peaks = [at for at in sharpest if bend[at] == _around(bend, at, span).max()]
    spacing = float(np.median(np.linalg.norm(np.diff(ring, axis=0), axis=1)))
    sharp = ring.copy()
    keep = np.ones(count, bool)
    for at in peaks:
        run = np.arange(gap, far + 1)
        corner = _meeting(ring[at - run], ring[(at + run) % count])
        near = (at + np.arange(-gap, gap + 1)) % count
        if corner is None or np.linalg.norm(ring[near] - corner, axis=1).min() > most_off * spacing:
            continue
        keep[near] = False
        keep[at], sharp[at] = True, corner
    return sharp[keep]


def without_splinters(ring: Points, across: int, high: float, reach: int = 41) -> Points:
    """The ring with short bumps on its long straight sides laid flat: splinters, dirt, shadow taken for wood.

    Args:
        ring: (n, 2) evenly spaced, its long sides nearly along the other axis than `across`.
        across: 0 or 1.
        high: a bump sticks out from its neighbourhood by more than this, in the ring's unit.
        reach: points of that neighbourhood; a bump takes up less than half of them.
    """
    normal = outward_normals(ring, 3.0)
    middle = float(np.median(ring[:, across]))
    outward = np.sign(ring[:, across] - middle)
    along = np.abs(outward_normals(ring, float(reach))[:, across]) > 0.97
    usual = median_filter(ring[:, across], reach, mode="wrap")
    bump = along & (outward * (ring[:, across] - usual) > high) & (outward * normal[:, across] > 0)
    flat = ring.copy()
    flat[bump, across] = usual[bump]
    return flat


def _around(values: Points, at: int, span: int) -> Points:
    return np.asarray(values[(at + np.arange(-span, span + 1)) % len(values)])


def _meeting(one: Points, two: Points) -> Points | None:
    """Where the straight lines through two runs of points meet; None where a run is not straight."""
    lines = []
    for run in (one, two):
        middle = run.mean(axis=0)
        _, size, directions = np.linalg.svd(run - middle, full_matrices=False)
        if size[1] > 0.12 * size[0]:
            return None
        lines.append((middle, directions[0]))
    (at, along), (other, beside) = lines
    steps = np.stack([along, -beside], axis=1)
    if abs(np.linalg.det(steps)) < 0.3:
        return None
    return np.asarray(at + np.linalg.solve(steps, other - at)[0] * along)
