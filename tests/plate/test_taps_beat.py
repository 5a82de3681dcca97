"""Two strong modes near one another beat: good taps, though they swell and waver as words do."""

from pathlib import Path

import numpy as np
import pytest

from seamlight.demo.sound_files import write_sound
from seamlight.demo.voice import voice
from seamlight.mistake import Mistake
from seamlight.plate.taps import read_taps
from seamlight.plate.taps_open import open_taps

RATE = 44100


def beating(low_hz: float, apart_hz: float, quality: float, turn: float, seed: int) -> np.ndarray:
    """Six taps of a plate with two modes that are nearly as loud, and a fainter one below."""
    dice, t = np.random.default_rng(seed), np.arange(int(1.6 * RATE)) / RATE
    sound = dice.normal(0, 3e-4, 12 * RATE)
    for k in range(6):
        modes = ((low_hz, 1.0, 0.0), (low_hz + apart_hz, 0.9, turn), (0.45 * low_hz, 0.3, 0.0))
        ring = sum(
            size * np.sin(2 * np.pi * hz * t + phase) * np.exp(-np.pi * hz / quality * t)
            for hz, size, phase in modes
        )
        first = int((0.5 + 1.7 * k) * RATE)
        sound[first : first + len(t)] += 0.3 * dice.uniform(0.6, 1) * ring * np.minimum(t / 0.002, 1)
        sound[first : first + 150] += dice.normal(0, 0.05, 150) * np.exp(-np.arange(150) / 40)
    return 0.6 * sound / np.abs(sound).max()


@pytest.mark.parametrize("turn", [0.0, np.pi], ids=["together", "against"])
@pytest.mark.parametrize(("low_hz", "apart_hz"), [(150, 4.0), (150, 7.0), (230, 3.0), (310, 5.0)])
def test_beats_are_no_speech(low_hz: float, apart_hz: float, turn: float, tmp_path: Path) -> None:
    file = write_sound(tmp_path / "beat.wav", beating(low_hz, apart_hz, 110, turn, 11), RATE)
    reading = read_taps([file])
    assert reading.taps == 6
    for hz in (low_hz, low_hz + apart_hz):
        assert min(abs(peak.hz / hz - 1) for peak in reading.peaks) < 1e-3


@pytest.mark.parametrize("seed", range(501, 506))
def test_words_still_are(seed: int, tmp_path: Path) -> None:
    spoken = voice(12, RATE, seed) + 1e-3 * np.random.default_rng(seed).normal(size=12 * RATE)
    with pytest.raises(Mistake, match="speech"):
        open_taps([write_sound(tmp_path / "voice.wav", spoken, RATE)])
