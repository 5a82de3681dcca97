"""A first, rough direction from the power spectrum of large tiles.

Lines that lean by a slope t put their power on the line fy = -t fx of the spectrum (projection-slice theorem;
Bracewell, The Fourier Transform and Its Applications). Only slopes near the leaf's length are looked at, so
marks across the grain have no say.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from seamlight.grain.field_bands import Bands, Float32

Array = NDArray[np.float64]

TILE_MM = 64.0
MOST_DEG = 24.0
STEP_DEG = 0.75
COARSEST_MM, FINEST_MM = 6.0, 0.62  # ring widths that are looked for


def rough_slopes(read: Bands) -> tuple[Array, Array, Array]:
    """Slope dx/dy of the lines in tiles side by side.

    Returns:
        tile centres x_mm (n,), y_mm (m,), and slopes (m, n), each the median of its neighbourhood.
    """
    rows, columns = read.figure.shape
    high, wide = min(rows, round(TILE_MM / read.row_mm)), min(columns, round(TILE_MM / read.column_mm))
    tops, lefts = _starts(rows, high), _starts(columns, wide)
    window = np.outer(np.hanning(high + 2)[1:-1], np.hanning(wide + 2)[1:-1]).astype(np.float32)
    fan = _fan(high, wide, high * read.row_mm, wide * read.column_mm)
    score = np.stack(
        [
            _along_fan(np.stack([read.figure[t : t + high, s : s + wide] for s in lefts]) * window, fan)
            for t in tops
        ]
    )
    score = _with_neighbours(score / np.maximum(score.max(axis=2, keepdims=True), 1e-9))
    best = fan.slopes[np.argmax(score, axis=2)]
    x_mm = (np.array(lefts) + wide / 2) * read.column_mm
    y_mm = (np.array(tops) + high / 2) * read.row_mm
    return x_mm, y_mm, best


def _starts(whole: int, part: int) -> list[int]:
    count = max(1, round(whole / part))
    return [round(start) for start in np.linspace(0, whole - part, count)]


@dataclass(frozen=True, eq=False)
class _Fan:
    """Places of a tile's spectrum that lie along each slope's line."""

    slopes: Array  # (k,)
    columns: slice  # of the spectrum, those of ring widths looked for
    flat: NDArray[np.int64]  # (k, n) places among those columns, flattened
    seen: Float32  # (k, n) 1 within the spectrum, 0 beyond


def _fan(rows: int, columns: int, height_mm: float, width_mm: float) -> _Fan:
    across = np.arange(columns // 2 + 1) / width_mm
    used = np.flatnonzero((across > 1 / COARSEST_MM) & (across < 1 / FINEST_MM))
    used = used if len(used) else np.arange(len(across))
    angles = np.arange(-MOST_DEG, MOST_DEG + STEP_DEG / 2, STEP_DEG)
    slopes = np.tan(np.radians(angles))
    along = -np.outer(slopes, across[used]) * height_mm
    seen = np.abs(along) < rows * 0.48
    index = np.where(seen, np.rint(along), 0).astype(np.int64) % rows
    flat = index * len(used) + np.arange(len(used))
    return _Fan(slopes, slice(int(used[0]), int(used[-1]) + 1), flat, seen.astype(np.float32))


def _along_fan(tiles: Float32, fan: _Fan) -> Array:
    """Power of each tile (t, rows, columns) along each slope's line (t, k), above the rest of its column."""
    spectrum = fft.fft(fft.rfft(tiles, axis=2)[:, :, fan.columns], axis=1)
    power = np.square(spectrum.real) + np.square(spectrum.imag)
    power -= power.mean(axis=1, keepdims=True)
    along = power.reshape(len(tiles), -1).take(fan.flat, axis=1)
    return np.asarray(np.einsum("tkn,kn->tk", along, fan.seen), np.float64)


def _with_neighbours(score: Array) -> Array:
    """Each tile's score with half of each neighbour's, so that one spoilt tile follows the wood round it."""
    padded = np.pad(score, ((1, 1), (1, 1), (0, 0)))
    beside = padded[:-2, 1:-1] + padded[2:, 1:-1] + padded[1:-1, :-2] + padded[1:-1, 2:]
    return np.asarray(padded[1:-1, 1:-1] + 0.5 * beside, np.float64)
