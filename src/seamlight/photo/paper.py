"""Which pixels are target sheet: paper, ink and shadow on paper, but not wood that lies across it."""

from __future__ import annotations

import cv2
import numpy as np

from seamlight.photo.bench import Array32, Bench
from seamlight.photo.flat import Mask, Points

_SAME_TINT = 0.13  # natural log: paper, ink and shadow differ in lightness and hardly in tint; wood is warmer
_SPREAD = 0.05
_BRIGHTEST = 70.0  # percentile of a sheet's lightness above which all is bare paper


def paper_mask(colour: Array32, paper: list[Points], scale: Points) -> Mask:
    """(h, w) True on the sheets.

    Args:
        colour: (h, w, 3) log colour of a picture.
        paper: corners (4, 2) px of each sheet in the photograph.
        scale: (2,) size of that picture over the photograph's.
    """
    mask = np.zeros(colour.shape[:2], np.uint8)
    size = np.array([colour.shape[1], colour.shape[0]])
    for corners in paper:
        low, high = (np.clip(side(corners * scale, axis=0), 0, size) for side in (np.min, np.max))
        (left, top), (right, bottom) = np.floor(low).astype(int), np.ceil(high).astype(int)
        part = colour[top:bottom, left:right]
        if part.size == 0:
            continue
        inside = _inside(corners - (left, top) / scale, scale, part.shape[:2])
        white = _white(part, inside)
        if white is None:
            continue
        warmth = part[..., 0] - part[..., 2] - (white[0] - white[2])
        mask[top:bottom, left:right] |= (inside & (np.abs(warmth) < _SAME_TINT)).view(np.uint8)
    # The paper's rim mixes with the bench over a pixel.
    return cv2.dilate(mask, np.ones((3, 3), np.uint8)) > 0


def paper_bench(colour: Array32, paper: list[Points], scale: Points, near: Mask) -> Bench | None:
    """The paper as a bench of its own where a leaf lies across a sheet; None where none does."""
    for corners in paper:
        inside = _inside(corners, scale, colour.shape[:2])
        white = _white(colour, inside) if bool((inside & near).any()) else None
        if white is not None:
            field = np.zeros((6, 3), np.float32)
            field[0] = white
            return Bench(field, np.eye(3, dtype=np.float32) * np.float32(_SPREAD**2))
    return None


def _inside(corners: Points, scale: Points, shape: tuple[int, ...]) -> Mask:
    mask = np.zeros(shape[:2], np.uint8)
    cv2.fillConvexPoly(mask, np.round(corners * scale - 0.5).astype(np.int32), 1)
    return mask > 0


def _white(colour: Array32, inside: Mask) -> Array32 | None:
    """(3,) log colour of the bare paper."""
    if inside.sum() < 20:
        return None
    sheet = colour[inside]
    lightness = sheet.sum(axis=1)
    return np.asarray(np.median(sheet[lightness >= np.percentile(lightness, _BRIGHTEST)], axis=0), np.float32)
