"""Sound in octaves: each octave as a slow complex signal in which damped partials stay damped partials."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import firwin, kaiser_beta, resample_poly, upfirdn

Complex = NDArray[np.complex128]
Sound = NDArray[np.float32]

LOWEST_HZ = 11.0
_STEP = 4  # an octave r/8 .. r/4 of a sound at rate r is kept at rate r/4
_MIDDLE = 0.1875  # of the rate: the middle of the octave
_FILTER, _CUT, _DB = 29, 0.2375, 50.0  # pass 0.95 f .. 2.05 f, stop 0.15 f and 2.85 f, where f = r / 8
_HALF, _HALF_DB = 35, 80.0


@dataclass(frozen=True)
class Octave:
    """One octave of a sound at `rate` (that of its level in the pyramid)."""

    level: int
    rate: float

    @property
    def low_hz(self) -> float:
        """Its lower end; the upper is twice that."""
        return self.rate / 8

    @property
    def slow_rate(self) -> float:
        """Samples a second of its slow signal."""
        return self.rate / _STEP

    def holds(self, hz: float, slack: float = 0.0) -> bool:
        """Whether a frequency lies in it, widened by a part `slack` at both ends."""
        return self.low_hz * (1 - slack) <= hz <= 2 * self.low_hz * (1 + slack)

    def hz(self, log_pole: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Frequencies of log poles of the slow signal."""
        return np.asarray((_MIDDLE + np.imag(log_pole) / (2 * np.pi * _STEP)) * self.rate)

    def decay_s(self, log_pole: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Decay rates, 1/s."""
        return np.asarray(-np.real(log_pole) * self.slow_rate)

    def log_pole(self, hz: float, decay_s: float = 0.0) -> complex:
        """The log pole of a partial."""
        turns = (hz / self.rate - _MIDDLE) * _STEP
        return complex(-decay_s / self.slow_rate, 2 * np.pi * turns)


def base_rate(rate: int) -> tuple[int, int]:
    """Factors up and down that bring a rate to between 22 and 50 kHz."""
    up = 1
    while rate * up < 22000:
        up *= 2
    down = 1
    while rate * up / down > 50000:
        down *= 2
    return up, down


def at_base_rate(samples: Sound, rate: int) -> tuple[Sound, float]:
    """A sound at 22 to 50 kHz, from any rate."""
    up, down = base_rate(rate)
    if (up, down) == (1, 1):
        return samples, float(rate)
    return np.asarray(resample_poly(samples, up, down), dtype=np.float32), rate * up / down


@cache
def _half_band() -> Sound:
    return np.asarray(firwin(_HALF, 0.5, window=("kaiser", kaiser_beta(_HALF_DB))), dtype=np.float32)


def pyramid(samples: Sound, rate: float) -> list[tuple[float, Sound]]:
    """The sound at rate, rate / 2, rate / 4, ... down to the lowest octave; sample j is at j / its rate."""
    levels = [(rate, samples)]
    while levels[-1][0] / 8 > LOWEST_HZ:
        rate, finer = levels[-1]
        # an odd filter's middle falls on every second sample of the finer sound
        padded = np.concatenate((np.zeros(1, np.float32), finer))
        coarser = upfirdn(_half_band(), padded, 1, 2)[(_HALF + 1) // 4 :][: (len(finer) + 1) // 2]
        levels.append((rate / 2, np.asarray(coarser, dtype=np.float32)))
    return levels


def octaves(levels: list[tuple[float, Sound]]) -> list[Octave]:
    """All octaves of a pyramid, the highest first."""
    return [Octave(k, rate) for k, (rate, _) in enumerate(levels)]


@cache
def band_filter() -> Complex:
    """(29,) complex band-pass for the octave r/8 .. r/4 of a sound at rate r."""
    low = firwin(_FILTER, 2 * _CUT / 2, window=("kaiser", kaiser_beta(_DB)))
    return np.asarray(low * np.exp(2j * np.pi * _MIDDLE * (np.arange(_FILTER) - _FILTER // 2)))


def settle_s(octave: Octave) -> float:
    """How long before its start a stretch is touched by what came before, through the pyramid's filters."""
    return 5 / octave.rate


def slow(levels: list[tuple[float, Sound]], octave: Octave, start_s: float, end_s: float) -> Complex:
    """(n,) the slow signal of one stretch of an octave; only whole filters, so that poles stay poles."""
    sound = levels[octave.level][1]
    first = max(int(np.ceil(start_s * octave.rate)), 0)
    last = min(int(end_s * octave.rate), len(sound))
    if last - first < _FILTER:
        return np.zeros(0, dtype=np.complex128)
    windows = np.lib.stride_tricks.sliding_window_view(sound[first:last], _FILTER)[::_STEP]
    out = windows @ band_filter()[::-1]
    return np.asarray(out * np.exp(-2j * np.pi * _STEP * _MIDDLE * np.arange(len(out))))


def gain(octave: Octave, log_pole: Complex) -> NDArray[np.float64]:
    """What the filter makes of a partial's amplitude at the start of the stretch."""
    hz, decay = octave.hz(log_pole), octave.decay_s(log_pole)
    per_sample = (-decay + 2j * np.pi * hz) / octave.rate
    # output 0 is the sum of h[m] s[28 - m]
    powers = np.exp(np.outer(per_sample, _FILTER - 1 - np.arange(_FILTER)))
    return np.asarray(np.abs(powers @ band_filter()))


@cache
def noise_correlation(lags: int) -> Complex:
    """(lags,) correlation of the slow signal of white noise, at lags 0 .. ; 1 at lag 0."""
    h = band_filter()
    whole = np.correlate(h, h, "full")[_FILTER - 1 :: _STEP]
    found = np.zeros(lags, dtype=np.complex128)
    count = min(lags, len(whole))
    found[:count] = whole[:count] / whole[0].real
    return np.asarray(found * np.exp(-2j * np.pi * _STEP * _MIDDLE * np.arange(lags)))
