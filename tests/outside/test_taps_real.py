"""The reader of taps on real bars and plucked bodies, and beside SciPy's own windows and peaks.

Recordings: ../shared/data/audio, sources and licences in its README: xylophone bars of the Versilian
Community Sample Library (CC0), tuned bars of the FluidR3 sound font (MIT), body responses of the STK
(MIT-like). Their decays were edited or looped: for frequencies only.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.signal import find_peaks, get_window

from seamlight.demo.sound_files import write_sound
from seamlight.demo.tap_cases import top_of
from seamlight.demo.taps import Phone, Room, TapScene, render
from seamlight.plate.bars import invert_bar
from seamlight.plate.peaks import Peak
from seamlight.plate.piece import Piece
from seamlight.plate.taps import read_taps
from seamlight.plate.taps_bands import octaves, pyramid, slow
from seamlight.plate.taps_decode import decode
from seamlight.plate.taps_poles import common_poles


def note_hz(name: str, octave: int) -> float:
    """Equal temperament, A4 at 440 Hz (ISO 16)."""
    steps = {"C": 0, "F#": 6, "G": 7, "A": 9}[name] - 9 + 12 * (octave - 4)
    return 440.0 * 2 ** (steps / 12)


def near(peaks: tuple[Peak, ...], hz: float, cents: float) -> Peak | None:
    """The loudest peak within some cents."""
    close = [peak for peak in peaks if abs(1200 * np.log2(peak.hz / hz)) < cents]
    return max(close, key=lambda peak: peak.level_db, default=None)


@pytest.mark.parametrize(("file", "note", "octave"), [("C3", "C", 3), ("G3", "G", 3), ("C5", "C", 5)])
def test_xylophone_bars(shared_data: Path, file: str, note: str, octave: int) -> None:
    """Nominal pitch one octave above the file's note, within 20 cents."""
    peaks = read_taps([shared_data / "audio" / f"{file}_ff.flac"]).peaks
    assert near(peaks, note_hz(note, octave + 1), 20) is not None


@pytest.mark.parametrize(
    ("file", "hz", "ratios"),
    [
        ("Marimba_C_4_L", note_hz("C", 3), (4.00,)),
        ("Marimba_C_5_L", note_hz("C", 4), (4.00,)),
        ("Xylophone_C_5_L", note_hz("C", 4), (2.99,)),
        ("Xylophone_Fs_4_L", note_hz("F#", 3), (2.99, 5.80)),
    ],
)
def test_tuned_bars(shared_data: Path, file: str, hz: float, ratios: tuple[float, ...]) -> None:
    """Fundamental within 4 cents of its note (2 are the sample's), partials as the README gives them."""
    peaks = read_taps([shared_data / "audio" / f"{file}.wav"]).peaks
    first = near(peaks, hz, 4)
    assert first is not None
    for ratio in ratios:
        assert near(peaks, ratio * hz, 12) is not None  # the ratios are rounded to 0.2 %, 3 cents


def test_plucked_bodies(shared_data: Path) -> None:
    """46 ms of a body's response: a peak at 410 to 427 Hz in all, too short for a tap, not for the poles."""
    for name in ("mand1.raw", "mand2.raw"):
        sound = np.frombuffer((shared_data / "audio" / name).read_bytes(), dtype=">i2").astype(np.float32)
        levels = pyramid(sound / np.abs(sound).max(), 22050.0)
        octave = next(one for one in octaves(levels) if one.holds(418))
        poles = common_poles([slow(levels, octave, 0.0, 1.0)])
        hz = octave.hz(poles)
        assert np.any((hz > 405) & (hz < 432)), hz


def test_peaks_beside_scipy(tmp_path: Path) -> None:
    """Strong partials lie where SciPy finds the tops of a windowed spectrum, within its coarseness."""
    scene = TapScene(
        *top_of(205), room=Room(noise_db=-35, hum_db=None, reverb_db=None), phone=Phone(low_hz=20)
    )
    taps = render(scene, 205)
    file = write_sound(tmp_path / "t.wav", taps.samples, taps.rate)
    peaks = [peak for peak in read_taps([file]).peaks if peak.level_db > -10]
    sound = decode(file).samples
    start = int((taps.at_s[0] + 0.02) * taps.rate)
    part = sound[start : start + int(1.3 * taps.rate)]
    size = np.abs(np.fft.rfft(part * get_window("hann", len(part)), 8 * len(part)))
    hz = np.fft.rfftfreq(8 * len(part), 1 / taps.rate)
    tops = hz[find_peaks(size, height=0.02 * size.max())[0]]
    assert len(peaks) >= 4
    for peak in peaks:
        assert np.min(np.abs(tops - peak.hz)) < 1.0 / 1.3  # one bin of the unpadded spectrum


def test_a_bar_read_end_to_end(tmp_path: Path) -> None:
    """The published rosewood bar, 336.2 x 38.1 x 22.4 mm, 1082 kg/m3, 957 Hz, struck and read: 24.0 GPa.

    Published by the slender formula; with shear it is higher (see tests/outside/test_plate_published.py).
    """
    rate, dice = 44100, np.random.default_rng(206)
    sound = 0.001 * dice.normal(size=8 * rate)
    t = np.arange(rate) / rate
    hits = [0.6 + 1.2 * k for k in range(6)]
    for at in hits:
        partials = ((957.0, 300, 0.3), (2440.0, 250, 0.2), (4430.0, 200, 0.1))  # bending, shear lowers them
        ring = sum(a * np.exp(-np.pi * f / q * t) * np.sin(2 * np.pi * f * t) for f, q, a in partials)
        sound[int(at * rate) : int(at * rate) + rate] += dice.uniform(0.6, 1.2) * ring
    reading = read_taps([write_sound(tmp_path / "bar.wav", sound, rate)])
    wood = [peak for peak in reading.peaks if peak.kind == "wood"]
    first = near(reading.peaks, 957.0, 2)
    assert first is not None
    assert first.q == pytest.approx(300, rel=0.05)
    piece = Piece(336.2, 38.1, 38.1, 22.4, round(1082 * 336.2 * 38.1 * 22.4 * 1e-6, 1))
    found = invert_bar(piece, [peak.hz for peak in wood], first_hz=957.0)
    assert found.bending[0] == wood.index(first)
    assert 23_800 < found.e_along_mpa < 27_500
