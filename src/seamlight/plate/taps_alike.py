"""Sounds of one recording that ring in the same lines: taps of one plate, which words never do.

Two strong modes near one another beat, so that a good tap swells and wavers as a voice does. But a plate
gives the same lines each time; a voice glides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.signal import zoom_fft

from seamlight.plate.taps_bands import Sound

_LOW_HZ, _HIGH_HZ, _POINTS = 60.0, 1200.0, 1500
_BLOW_S, _LOOKED_S, _LEAST_S = 0.02, 0.6, 0.15
# Cosine of two spectra. In twenty invented voices no syllable had four others over 0.90, none two over 0.95;
# taps of beating plates are alike to 0.99
_ALIKE, _OTHERS = 0.93, 3


def repeated(sound: Sound, rate: float, spans_s: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    """(t,) which sounds, given by onset and end in s, are alike to at least three others."""
    spectra = np.array([_lines(sound, rate, *span) for span in spans_s])
    if len(spectra) <= _OTHERS:
        return np.zeros(len(spans_s), dtype=np.bool_)
    alike = spectra @ spectra.T > _ALIKE
    np.fill_diagonal(alike, False)
    return np.asarray(alike.sum(axis=1) >= _OTHERS)


def _lines(sound: Sound, rate: float, at_s: float, until_s: float) -> NDArray[np.float64]:
    """(1500,) spectrum of a sound once its blow is over, of length 1; zeros where it is too short."""
    part = sound[int((at_s + _BLOW_S) * rate) : int(min(until_s, at_s + _LOOKED_S) * rate)]
    if len(part) < _LEAST_S * rate:
        return np.zeros(_POINTS)
    faded = part * np.hanning(2 * len(part))[len(part) :]
    found = np.abs(zoom_fft(faded, [_LOW_HZ, min(_HIGH_HZ, 0.45 * rate)], m=_POINTS, fs=rate))
    return np.asarray(found / max(float(np.linalg.norm(found)), 1e-30), dtype=np.float64)
