"""How much of each pixel lies inside an outline: exact along rows, eight scan lines to a pixel.

OpenCV's polygon filling draws the border itself too and so makes everything half a pixel fat on all sides;
truth must not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points

LINES = 8  # scan lines to a pixel


def coverage(outlines_px: list[Points], rows: int, cols: int) -> NDArray[np.uint8]:
    """(rows, cols) 0..255 inside the first outline and outside the others, which are holes in it.

    Outlines are simple polygons in px, pixel (row j, column i) covering i..i+1 and j..j+1.
    """
    change = np.zeros((rows, cols + 1), dtype=np.float32)
    for number, outline in enumerate(outlines_px):
        _scan(change, np.asarray(outline, dtype=np.float64), -1.0 if number else 1.0)
    np.cumsum(change, axis=1, out=change)
    return np.asarray(np.clip(change[:, :cols] * 255.0 + 0.5, 0, 255), dtype=np.uint8)


def _scan(change: NDArray[np.float32], outline: Points, weight: float) -> None:
    """Add where scan lines enter and leave a polygon to the change from pixel to pixel along each row."""
    rows, cols = change.shape[0], change.shape[1] - 1
    start, end = outline, np.roll(outline, -1, axis=0)
    area = float((start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1]).sum())
    # scan line k lies at (k + 0.5) / LINES; an edge crosses those between its ends
    top, bottom = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    first = np.clip(np.ceil(top * LINES - 0.5), 0, rows * LINES).astype(int)
    last = np.clip(np.ceil(bottom * LINES - 0.5), 0, rows * LINES).astype(int)
    count = last - first
    edge = np.repeat(np.arange(len(outline)), count)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    share = ((line + 0.5) / LINES - start[edge, 1]) / (end[edge, 1] - start[edge, 1])
    x = np.clip(start[edge, 0] + share * (end[edge, 0] - start[edge, 0]), 0, cols)
    # going up the picture on the left side of a clockwise outline is an entry
    sign = np.sign(start[edge, 1] - end[edge, 1]) * np.sign(area) * weight / LINES
    column = np.minimum(x.astype(int), cols - 1)
    part = (x - column).astype(np.float32)
    row = line // LINES
    np.add.at(change, (row, column), (sign * (1.0 - part)).astype(np.float32))
    np.add.at(change, (row, column + 1), (sign * part).astype(np.float32))
