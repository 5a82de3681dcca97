"""What noise alone makes of a partial's damping: the least spread any reader of these taps can have."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.signal import welch

from seamlight.demo.tap_cases import TapCase
from seamlight.demo.taps import render

_RATE, _SECONDS, _BLOW_S = 2000.0, 1.4, 0.014


def least_q_spread_pct(case: TapCase) -> dict[str, float]:
    """Cramer-Rao bound of each named mode's quality, percent, from all taps of a rendered recording.

    All modes below 700 Hz are taken as unknown in frequency, decay, amplitude and phase; noise as even about
    each mode. H. Cramer (1946), C. R. Rao (1945), from memory: covariance is at least the inverse of Fisher's
    information, 2/N J* J for complex samples of noise N.
    """
    alone = replace(case.scene.room, hum_db=None, reverb_db=None, tone=None)
    noisy = render(replace(case.scene, room=alone), case.seed)
    still = render(replace(case.scene, room=replace(alone, noise_db=-300.0)), case.seed)
    gain = noisy.samples @ still.samples / (still.samples @ still.samples)
    hz, power = welch(noisy.samples / gain - still.samples, noisy.rate, nperseg=1 << 14)
    modes = [mode for mode in noisy.modes if mode.hz < 700]
    poles = np.array([np.pi * mode.hz * (2j - 1 / mode.q) for mode in modes])
    variances = np.zeros((len(still.at_s), len(modes)))
    for row, at in zip(variances, still.at_s, strict=True):
        first = int((at + _BLOW_S) * still.rate)
        sound = still.samples[first : first + int(_SECONDS * still.rate) : 8]
        row[:] = _log_pole_variances(sound, still.rate / 8, poles)
    # an analytic signal holds the noise of both sides
    noise = 2 * np.interp([mode.hz for mode in modes], hz, power) * _RATE
    decay = np.array([np.pi * mode.hz / mode.q for mode in modes])
    least = 100 * np.sqrt((variances * noise).mean(axis=0) / 2 / len(variances)) / decay
    return {mode.name: float(one) for mode, one in zip(modes, least, strict=True) if mode.name != "other"}


def _log_pole_variances(sound: np.ndarray, rate: float, poles: np.ndarray) -> np.ndarray:
    """(m,) of each pole for noise of 1, both parts together."""
    shapes = np.exp(np.outer(np.arange(len(sound)) / rate, poles))
    columns = np.hstack((shapes.real, -shapes.imag))
    weights = np.linalg.lstsq(columns, sound, rcond=None)[0]
    amplitudes = weights[: len(poles)] + 1j * weights[len(poles) :]
    t = np.arange(0, _SECONDS, 1 / _RATE)
    shapes = np.exp(np.outer(t, poles))
    slopes = np.hstack((shapes, t[:, None] * shapes * amplitudes))
    return np.diag(np.linalg.inv(slopes.conj().T @ slopes)).real[len(poles) :]
