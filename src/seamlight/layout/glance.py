"""A first glance at many leaves: which could be a pair at all. Rough, and quick enough for all against all.

Each leaf is taken as a few short profiles across the grain, columns by bands. Where two leaves are a pair
the profiles of one meet the mirrored profiles of the other, moved by an amount that grows evenly down the
leaf (a turn) and changes little from column to column (rings that lean).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from seamlight.layout.figure import ACROSS_PX_PER_MM, Figure, Lines

_BAND_MM = 16
_BANDS_EVERY_MM = 64
_COLUMN_PX = 256  # 64 mm
_COLUMNS = 3
_BANDS = 7
_REACH_PX = 56  # 14 mm
_BEND_PX = 4
_TURNS_DEG = np.arange(-1.4, 1.41, 0.15)
_FLIPS = ((True, False), (False, False), (True, True), (False, True))  # mirrored, end for end


@dataclass(frozen=True, eq=False)
class Glance:
    """Spectra of one leaf's profiles: wide windows to be searched, and narrow ones for each way to lie."""

    wide: NDArray[np.complex64]  # (bands, columns, f)
    narrow: NDArray[np.complex64]  # (ways, bands, columns, f)
    power: float  # of the narrow profiles, square root


def glance_at(figure: Figure) -> Glance:
    """The profiles of one leaf, about its own middle."""
    values = figure.values()
    wide = _profiles(values, _REACH_PX)
    flipped = [values[:: -1 if end else 1, :: -1 if mirror else 1] for mirror, end in _FLIPS]
    narrow = np.array([_profiles(one, 0) for one in flipped])
    power = float(np.sqrt((narrow[0] ** 2).sum())) + 1e-9
    length = scipy.fft.next_fast_len(_COLUMN_PX + 2 * _REACH_PX, real=True)
    return Glance(scipy.fft.rfft(wide, length), np.conj(scipy.fft.rfft(narrow, length)), power)


def likeness(glances: list[Glance]) -> NDArray[np.float64]:
    """(n, n) how well each leaf's profiles meet each other's, placed at their best; 0 with itself."""
    count = len(glances)
    found = np.zeros((count, count))
    for i in range(count - 1):
        others = glances[i + 1 :]
        narrow = np.array([other.narrow for other in others])
        length = scipy.fft.next_fast_len(_COLUMN_PX + 2 * _REACH_PX, real=True)
        surface = scipy.fft.irfft(glances[i].wide * narrow, length)[..., : 2 * _REACH_PX + 1]
        power = glances[i].power * np.array([other.power for other in others])
        found[i, i + 1 :] = _best(surface.astype(np.float32)) / power
    return found + found.T


def _best(surface: Lines) -> NDArray[np.float64]:
    """(n, ways, bands, columns, shift) summed along every turn and bend -> (n,) best."""
    middle_mm = (np.arange(_BANDS) - (_BANDS - 1) / 2) * _BANDS_EVERY_MM
    best = np.zeros(len(surface))
    for turn_deg in _TURNS_DEG:
        moved = np.round(middle_mm * np.tan(np.radians(turn_deg)) * ACROSS_PX_PER_MM).astype(int)
        columns = sum(np.roll(surface[:, :, band], -shift, axis=-1) for band, shift in enumerate(moved))
        columns = np.asarray(columns)
        total = columns[:, :, 0]
        for column in range(1, _COLUMNS):
            total = columns[:, :, column] + maximum_filter1d(total, 2 * _BEND_PX + 1, axis=-1, mode="nearest")
        best = np.maximum(best, total.max(axis=(1, 2)))
    return best


def _profiles(values: Lines, reach_px: int) -> Lines:
    """(bands, columns, px): means over short bands about the leaf's middle; 0 beyond its edges."""
    height, width = values.shape
    tall, broad = _BANDS_EVERY_MM * _BANDS, _COLUMN_PX * _COLUMNS + 2 * reach_px
    canvas = np.zeros((tall, broad), np.float32)
    rows, columns = min(height, tall), min(width, broad)
    canvas[(tall - rows) // 2 :, (broad - columns) // 2 :][:rows, :columns] = values[
        (height - rows) // 2 :, (width - columns) // 2 :
    ][:rows, :columns]
    low = (_BANDS_EVERY_MM - _BAND_MM) // 2
    bands = canvas.reshape(_BANDS, _BANDS_EVERY_MM, broad)[:, low : low + _BAND_MM].mean(axis=1)
    lefts = range(0, _COLUMN_PX * _COLUMNS, _COLUMN_PX)
    pieces = [bands[:, left : left + _COLUMN_PX + 2 * reach_px] for left in lefts]
    return np.asarray(np.stack(pieces, axis=1), dtype=np.float32)
