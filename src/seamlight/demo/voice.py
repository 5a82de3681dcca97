"""An invented voice: pulses of a larynx through formants, in syllables, with hisses between."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Array = NDArray[np.float64]

# Formants of five vowels, Hz; from memory
_VOWELS = ((730, 1090, 2440), (270, 2290, 3010), (300, 870, 2240), (530, 1840, 2480), (570, 840, 2410))


def voice(seconds: float, rate: int, seed: int) -> Array:
    """(n,) speech of about four syllables a second, loudest at 0.5."""
    dice = np.random.default_rng([seed, 43])
    out = np.zeros(int(seconds * rate))
    at = 0.0
    while at < seconds - 0.1:
        length = float(dice.uniform(0.12, 0.28))
        part = _syllable(length, rate, dice)
        first = int(at * rate)
        part = part[: len(out) - first]
        out[first : first + len(part)] += part
        at += length * float(dice.uniform(0.9, 1.15)) + (0.3 if dice.random() < 0.15 else 0.0)
    return np.asarray(0.5 * out / np.abs(out).max())


def _syllable(seconds: float, rate: int, dice: np.random.Generator) -> Array:
    n = int(seconds * rate)
    t = np.arange(n) / rate
    pitch = dice.uniform(90, 180) * (
        1 + 0.15 * np.sin(2 * np.pi * dice.uniform(1, 3) * t + dice.uniform(0, 6))
    )
    turns = np.cumsum(pitch) / rate
    source = np.diff(np.floor(turns), prepend=0.0) + 0.02 * dice.normal(size=n)
    for hz in _VOWELS[int(dice.integers(len(_VOWELS)))]:
        width = 60 + 0.04 * hz
        radius = np.exp(-np.pi * width / rate)
        source = lfilter([1 - radius], [1, -2 * radius * np.cos(2 * np.pi * hz / rate), radius**2], source)
    rise, fall = dice.uniform(0.015, 0.05), dice.uniform(0.04, 0.1)
    shape = np.minimum(1, t / rise) * np.minimum(1, (seconds - t) / fall)
    spoken = shape * source / max(float(np.abs(source).max()), 1e-12)
    if dice.random() < 0.5:  # a hiss or a burst before the vowel
        hiss = np.diff(dice.normal(size=int(dice.uniform(0.01, 0.08) * rate)), prepend=0.0)
        spoken[: len(hiss)] += 0.15 * hiss * np.hanning(len(hiss))
    return np.asarray(spoken * dice.uniform(0.4, 1.0))
