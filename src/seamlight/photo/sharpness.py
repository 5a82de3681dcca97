"""How blurred a photograph is, from the edge of the leaf itself."""

from __future__ import annotations

import cv2
import numpy as np

from seamlight.photo.flat import Points, Rgb
from seamlight.photo.ring import outward_normals, spaced

BLURRED = 0.0012  # of the picture's longer side: more is no sharp photograph; common practice, no source
_PLACES = 120
_REACH = 0.012  # of the longer side, to either side of the edge
_LEAST_STEP = 12.0  # of 255, between bench and wood
_FLAT_PART = 4  # of a profile at either end: beyond the blur
# ITU-R BT.601
_GRAY = np.array([[0.299, 0.587, 0.114]])


def blur_px(rgb: Rgb, ring_px: Points) -> float:
    """Standard deviation, px, of the blur that makes the leaf's edge as soft as it is; 0 where none is told.

    A step of height h blurred by sigma is h / (sigma sqrt(2 pi)) steep at its middle.
    """
    ring = spaced(ring_px, max(cv2.arcLength(ring_px.astype(np.float32), True) / _PLACES, 1.0))
    normal = outward_normals(ring, 1.5)
    reach = max(_REACH * max(rgb.shape[:2]), 6.0)
    across = np.arange(-reach, reach + 1)
    x, y = (
        (ring[:, axis, None] - 0.5 + across * normal[:, axis, None]).astype(np.float32) for axis in (0, 1)
    )
    seen = cv2.remap(rgb, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = np.asarray(cv2.transform(seen.astype(np.float32), _GRAY), np.float64).reshape(len(ring), -1)
    ends = len(across) // _FLAT_PART
    step = np.abs(np.median(light[:, :ends], axis=1) - np.median(light[:, -ends:], axis=1))
    steep = np.abs(np.diff(light, axis=1)).max(axis=1)
    clear = step > _LEAST_STEP
    if clear.sum() < _PLACES // 8:
        return 0.0
    # the wood's own lines make a few places look sharper, a shadow beside the leaf a few softer
    return float(np.median(step[clear] / steep[clear]) / np.sqrt(2 * np.pi))


def is_blurred(blur: float, rgb: Rgb) -> bool:
    """Whether a blur (px) is more than a photograph may have."""
    return blur > max(BLURRED * float(max(rgb.shape[:2])), 1.5)
