"""Across the grain, each frequency counts by how far its figure goes on along the grain.

The signal's power at a frequency is the cross spectrum of rows that lie apart along the lines; what is left
of the rows' own power is noise. Signal over the sum of both is Wiener's filter. Noise is not made white as
well: that would give a scanner's or a camera's faint column pattern, which never bends, more say than rings.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from seamlight.grain.field_bands import Float32, box
from seamlight.grain.field_straight import Straight
from seamlight.grain.row_filter import Complex64, filter_length, filtered

APART_MM = 6.0
BLOCK_MM = 5.0
EVEN_BINS = 9


def weigh_frequencies(straight: Straight, block: int) -> tuple[Float32, Float32]:
    """The upright figure, its rows filtered so that lines stand out from noise, and its slope across per mm.

    Both are means of `block` rows about each row; rows beyond the picture are 0.

    The slope is taken in the spectrum: a difference of neighbours would be too small by half on a ring of 3
    px.
    """
    length = filter_length(straight.figure.shape[1] + round(8 / straight.column_mm))
    gain = _gain(straight, length)
    per_mm = 2j * np.pi * np.arange(length // 2 + 1) / (length * straight.column_mm)
    # the mean goes before the filter, which is the same for all rows
    means = box(straight.figure, 1, block)
    figure, across = filtered(
        means, length, [gain.astype(np.complex64), (gain * per_mm).astype(np.complex64)]
    )
    return figure, across


def _gain(straight: Straight, length: int) -> Float32:
    """Weight of each frequency, from blocks that lie apart along the lines; 1 where there is but one."""
    block = max(1, round(BLOCK_MM / straight.row_mm))
    apart = max(1, round(APART_MM / straight.row_mm))
    count = (len(straight.figure) - block) // apart + 1
    if count < 2:
        return np.ones(length // 2 + 1, np.float32)
    means = sum_of_blocks(straight.figure, np.arange(count) * apart, block)
    means *= np.float32(1 / block)
    return wiener_gain(fft.rfft(means, length, axis=1), 1)[0]


def sum_of_blocks(picture: Float32, tops: NDArray[np.int64], high: int) -> Float32:
    """Sums (tops, columns) over `high` rows from each of the evenly spaced rows `tops`."""
    total = picture[tops]
    for k in range(1, high):
        total += picture[tops + k]
    return total


def wiener_gain(spectra: Complex64, apart: int) -> tuple[Float32, Float32]:
    """Signal over signal and noise, and the noise's power, per frequency.

    Args:
        spectra: (stretches, frequencies) of profiles along the lines.
        apart: stretches this many rows apart share nothing but the lines.
    """
    parts = spectra.view(np.float32)  # real and imaginary by turns
    signal, power = (
        _even(product.mean(axis=0).reshape(-1, 2).sum(axis=1))
        for product in (parts[apart:] * parts[:-apart], parts * parts)
    )
    signal = np.clip(signal, 0, power)
    return np.asarray(signal / np.maximum(power, 1e-12), np.float32), np.asarray(power - signal, np.float32)


def _even(values: Float32) -> Float32:
    padded = np.pad(values, EVEN_BINS // 2, mode="edge").astype(np.float32)
    return box(padded[None, :], EVEN_BINS, 1)[0, EVEN_BINS // 2 : -(EVEN_BINS // 2)]
