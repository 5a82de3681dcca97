"""A joint through which no light comes: dark wood between two lights is all that shows where it is."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.seam.light_find import Line

F32 = NDArray[np.float32]

_SMALL_PX = 500
_DARK = 0.25  # of the lamp: wood before it is darker
_LAMP_AT_LEAST = 0.05
_FILLED = 0.85  # of its box: leaves edge to edge are a rectangle


def dark_joint(light: F32, name: str) -> Line:
    """The middle line of dark wood that has the lamp's light beyond both ends.

    Raises:
        Mistake: no such wood: there is no proof that the lamp shone, so nothing can be called closed.
    """
    factor = max(1.0, max(light.shape) / _SMALL_PX)
    size = (round(light.shape[1] / factor), round(light.shape[0] / factor))
    small = np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    lamp = float(np.quantile(small, 0.99))
    dark = (small < _DARK * lamp).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(dark)
    if lamp < _LAMP_AT_LEAST or count < 2:
        raise _no_seam(name)
    biggest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    wood = (labels == biggest).astype(np.uint8)
    rows, cols = np.nonzero(wood)
    (x, y), (wide, high), angle = cv2.minAreaRect(np.column_stack([cols, rows]).astype(np.float32))
    if wood.sum() < 0.1 * wood.size or wood.sum() < _FILLED * wide * high:
        raise _no_seam(name)
    turn = np.radians(angle)
    across, down = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    middle = np.array([x, y])
    lit = [
        (length, axis)
        for length, axis in ((wide, across), (high, down))
        if all(_lamp_at(small, middle + sign * axis * (length / 2 + 4), lamp) for sign in (-1, 1))
    ]
    if not lit:
        raise _no_seam(name)
    length, axis = max(lit, key=lambda one: one[0])
    if axis[int(np.argmax(np.abs(axis)))] < 0:
        axis = -axis
    ends = [(middle + sign * axis * length / 2 + 0.5) * factor - 0.5 for sign in (-1, 1)]
    return Line((float(ends[0][0]), float(ends[0][1])), (float(ends[1][0]), float(ends[1][1])), 0.0, 0.0)


def _lamp_at(small: F32, at: NDArray[np.float64], lamp: float) -> bool:
    x, y = np.rint(at).astype(int)
    inside = 0 <= x < small.shape[1] and 0 <= y < small.shape[0]
    return bool(inside and small[y, x] > 0.5 * lamp)


def _no_seam(name: str) -> Mistake:
    return Mistake(
        "no seam: no line of light, and no lamp shining beyond both ends of a joint",
        where=name,
        do="hold the closed joint before a lamp that reaches beyond both ends, the room dark",
    )
