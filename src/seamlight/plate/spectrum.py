"""The averaged spectrum of the good taps, for a page to draw. Peaks do not come from it: it is too coarse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import zoom_fft

from seamlight.plate.taps import TapCut, Taps, open_taps
from seamlight.plate.taps_bands import Sound

Array = NDArray[np.float64]

_POINTS = 2000
_STRETCH_S = 2.0
_LOWEST_DB = -90.0


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Level over frequency, (n,) each; 0 dB the highest."""

    hz: Array
    level_db: Array


def spectrum_of(
    files: Sequence[Path], low_hz: float = 15.0, high_hz: float = 3000.0, points: int = _POINTS
) -> Spectrum:
    """Spectrum averaged over the good taps, at points spaced evenly in pitch.

    Args:
        low_hz, high_hz: the part wanted; ask again for a narrower part to zoom in.

    Raises:
        Mistake: a file that cannot be read, or no good tap in any.
    """
    return spectrum(open_taps(files), low_hz, high_hz, points)


def spectrum(taps: Taps, low_hz: float = 15.0, high_hz: float = 3000.0, points: int = _POINTS) -> Spectrum:
    """The same from taps that are open already."""
    hz = np.geomspace(low_hz, min(high_hz, 0.45 * taps.levels[0][0][0]), points)
    power = np.zeros(points)
    for cut in taps.good:
        one = _power(taps.levels[cut.file], cut, hz)
        power += one / max(float(one.max()), 1e-30)
    level = 10 * np.log10(power / max(float(power.max()), 1e-30) + 1e-12)
    return Spectrum(hz, np.maximum(level, _LOWEST_DB))


def _level_for(levels: Sequence[tuple[float, Sound]], high_hz: float) -> tuple[float, Sound]:
    """The slowest level of the pyramid that holds all that is wanted."""
    return next((level for level in reversed(levels) if 0.35 * level[0] >= high_hz), levels[0])


def _power(levels: Sequence[tuple[float, Sound]], cut: TapCut, hz: Array) -> Array:
    """Power of a tap at each frequency, octave by octave, each from the slowest level that holds it."""
    out = np.zeros(len(hz))
    edges = np.geomspace(hz[0], hz[-1] * (1 + 1e-9), max(int(np.ceil(np.log2(hz[-1] / hz[0]))), 1) + 1)
    for low, high in pairwise(edges):
        here = (hz >= low * (1 - 1e-12)) & (hz < high)
        rate, sound = _level_for(levels, high)
        part = sound[int(cut.at_s * rate) : int(min(cut.until_s, cut.at_s + _STRETCH_S) * rate)]
        if len(part) < 16:
            continue
        faded = part * np.hanning(2 * len(part))[len(part) :]  # a ring starts at once and fades
        count = 2 * int(here.sum()) + 2
        grid = np.abs(zoom_fft(faded, [low, high], m=count, fs=rate, endpoint=True) / rate) ** 2
        out[here] = np.interp(hz[here], np.linspace(low, high, count), grid)
    return out
