"""Marks made in a film's first frame carried to its later frames: the phone moves, the joint does not."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo import Picture
from seamlight.seam.light_ends import Point

LOST = "the marks of the film's first frame cannot be followed"
_SMALL_PX = 640  # long side of the frames that are compared
_LEAST_ALIKE = 0.8  # correlation of two frames laid on one another
_STEPS = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 60, 1e-4)


def carried(places: Sequence[Point], before: Picture, after: Picture) -> list[Point]:
    """Places of one frame in the next: the frames laid on one another by shift and turn.

    Phase correlation, then the enhanced correlation coefficient (Evangelidis and Psarakis 2008), as OpenCV
    has them. How far along the joint is told by the leaves' ends against the lamp.

    Raises:
        Mistake: the frames show too little in common.
    """
    factor = min(1.0, _SMALL_PX / max(before.rgb.shape))
    if before.rgb.shape != after.rgb.shape:
        raise _lost(after)
    one, other = (_small(picture, factor) for picture in (before, after))
    shift, _ = cv2.phaseCorrelate(one, other, cv2.createHanningWindow(one.shape[::-1], cv2.CV_32F))
    move = np.array([[1.0, 0.0, shift[0]], [0.0, 1.0, shift[1]]], np.float32)
    try:
        alike, found = cv2.findTransformECC(
            one, other, move, cv2.MOTION_EUCLIDEAN, _STEPS, np.ones(other.shape, np.uint8), 5
        )
    except cv2.error as error:
        raise _lost(after) from error
    if alike < _LEAST_ALIKE:
        raise _lost(after)
    move = np.asarray(found, dtype=np.float32)
    moved = np.array(places) * factor @ move[:, :2].T + move[:, 2]
    return [(float(x), float(y)) for x, y in moved / factor]


def _small(picture: Picture, factor: float) -> NDArray[np.float32]:
    """Grey and small, dark wood told from dark wood (square root of the code values)."""
    grey = cv2.cvtColor(picture.rgb, cv2.COLOR_RGB2GRAY)
    small = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    return np.sqrt(np.asarray(small, dtype=np.float32))


def _lost(frame: Picture) -> Mistake:
    return Mistake(
        LOST,
        where=frame.name,
        do="swing the phone slowly, or give pictures and mark each",
    )
