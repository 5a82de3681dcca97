"""Filters along the rows of a picture, given by what they do to each frequency."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_bands import Float32

Complex64 = NDArray[np.complex64]

STRIP_ROWS = 32  # worked through at a time: they stay in the processor's cache
_BACK = cv2.DFT_ROWS | cv2.DFT_INVERSE | cv2.DFT_SCALE | cv2.DFT_REAL_OUTPUT


def filter_length(columns: int) -> int:
    """An even length of at least so many columns that the Fourier transform is quick with."""
    return 2 * int(cv2.getOptimalDFTSize(-(-columns // 2)))


def filtered(picture: Float32, length: int, weights: Sequence[Complex64]) -> list[Float32]:
    """The picture (rows, columns) through each of several filters.

    Args:
        length: from `filter_length`; the picture goes on as 0 from its last column to there.
        weights: each (length // 2 + 1,), one for each frequency.
    """
    rows, columns = picture.shape
    out = [np.empty_like(picture) for _ in weights]
    padded, weighed = (np.zeros((min(STRIP_ROWS, rows), length), np.float32) for _ in range(2))
    for first in range(0, rows, STRIP_ROWS):
        strip = picture[first : first + STRIP_ROWS]
        padded[: len(strip), :columns] = strip
        spectrum = np.asarray(cv2.dft(padded, flags=cv2.DFT_ROWS), np.float32)
        for into, weight in zip(out, weights, strict=True):
            # of an even length the first and the last value are real and stand alone between pairs
            weighed[:, 0], weighed[:, -1] = spectrum[:, 0] * weight[0].real, spectrum[:, -1] * weight[-1].real
            np.multiply(_pairs(spectrum), weight[1:-1], out=_pairs(weighed))
            into[first : first + STRIP_ROWS] = cv2.dft(weighed, flags=_BACK)[: len(strip), :columns]
    return out


def _pairs(spectrum: Float32) -> Complex64:
    return spectrum[:, 1:-1].view(np.complex64)
