"""Carry points between leaf B's own frame and leaf A's, by the registration of the pair."""

from __future__ import annotations

import numpy as np

from seamlight.layout.pair import Registration
from seamlight.photo.flat import Points

Size = tuple[float, float]  # width across the grain, length along it (mm): the leaf's bounding box


def carry_to_a(registration: Registration, size_a_mm: Size, size_b_mm: Size, points_b_mm: Points) -> Points:
    """Points of leaf B's frame, (n, 2) mm, as they lie in leaf A's frame, (n, 2) mm.

    The convention is that of `Registration`: p_A = R (m(p_B) - c) + c + (across, slide).

    >>> carry_to_a(Registration(1.0, slide_mm=3.0), (200, 500), (200, 500), np.array([[10.0, 20.0]]))
    array([[190.,  23.]])
    """
    middle = _middle(size_a_mm)
    laid = _flips(registration, size_b_mm[1], points_b_mm, points_b_mm[:, 0] - size_b_mm[0] / 2)
    from_middle = laid - (0.0, middle[1])
    return np.asarray(from_middle @ turn(registration.rotate_deg).T + middle + _shift(registration))


def carry_to_b(registration: Registration, size_a_mm: Size, size_b_mm: Size, points_a_mm: Points) -> Points:
    """Points of leaf A's frame, (n, 2) mm, as they lie in leaf B's own frame: undoes `carry_to_a`."""
    middle = _middle(size_a_mm)
    back = (points_a_mm - middle - _shift(registration)) @ turn(registration.rotate_deg) + (0.0, middle[1])
    return np.asarray(
        _flips(registration, size_b_mm[1], back, back[:, 0]) + np.array([size_b_mm[0] / 2, 0.0])
    )


def turn(angle_deg: float | None) -> Points:
    """The (2, 2) matrix that turns a line along y by an angle counted positive toward +x as y grows."""
    angle = np.radians(angle_deg or 0.0)
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([[cosine, sine], [-sine, cosine]])


def _flips(registration: Registration, length_b_mm: float, points: Points, x: Points) -> Points:
    """B's picture turned half round and mirrored as it lay; `x` is counted from the leaves' middle."""
    mirrored = (registration.b_shows == "sawn") != registration.b_turned  # half a turn mirrors both ways
    y = length_b_mm - points[:, 1] if registration.b_turned else points[:, 1]
    return np.column_stack([-x if mirrored else x, y])


def _middle(size_mm: Size) -> Points:
    return np.array([size_mm[0] / 2, size_mm[1] / 2])


def _shift(registration: Registration) -> Points:
    return np.array([registration.across_mm or 0.0, registration.slide_mm or 0.0])
