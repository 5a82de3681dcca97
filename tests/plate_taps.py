"""Taps of a spruce leaf put together from damped tones, six a second apart, as a WAV."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from scipy.io import wavfile

from seamlight.plate import Elastic, Piece
from seamlight.plate.model import frequencies_hz

RATE = 44_100
LEAF = Piece(500.0, 200.0, 200.0, 3.6, 148.0)
WOOD = Elastic(11_000.0, 820.0, 760.0, 0.37, 700.0, 45.0)
TYPED = {"length": "500", "width": "200", "thickness": "3.6", "weight": "148", "species": "Sitka spruce"}
_LEVELS = {"twist": 0.5, "along": 1.0, "across": 0.7}
_QUALITY = {"twist": 70.0, "along": 110.0, "across": 55.0}


def tones(piece: Piece = LEAF, wood: Elastic = WOOD) -> list[tuple[float, float, float]]:
    """Frequency, level and quality of the three modes by the room's own model."""
    return [(hz, _LEVELS[name], _QUALITY[name]) for name, hz in frequencies_hz(piece, wood).items()]


def tapped(partials: Sequence[tuple[float, float, float]], *, taps: int = 6, seed: int = 5) -> bytes:
    """Taps of any partials with a little noise, as WAV."""
    draw = np.random.default_rng(seed)
    sound = draw.normal(0, 2e-4, int((taps + 1) * RATE))
    t = np.arange(RATE) / RATE
    for k in range(taps):
        ring = sum(
            level * np.sin(2 * np.pi * hz * t + draw.uniform(0, 6)) * np.exp(-np.pi * hz / q * t)
            for hz, level, q in partials
        )
        at = int((k + 0.5) * RATE)
        knock = draw.normal(0, 0.3, 200) * np.exp(-np.arange(200) / 40)
        sound[at : at + RATE] += 0.2 * np.minimum(t / 0.001, 1) * ring * draw.uniform(0.7, 1.0)
        sound[at : at + 200] += 0.2 * knock
    out = io.BytesIO()
    wavfile.write(out, RATE, np.round(sound / max(2.0, np.abs(sound).max() * 1.1) * 32767).astype(np.int16))
    return out.getvalue()


def leaf_wav() -> bytes:
    """The leaf tapped."""
    return tapped(tones())
