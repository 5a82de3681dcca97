"""Recordings that are of no use, or of less: one line each, never a silent guess."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from seamlight.demo.sound_files import write_sound
from seamlight.demo.tap_cases import leaf_of
from seamlight.demo.taps import RenderedTaps, TapScene, render
from seamlight.demo.voice import voice
from seamlight.mistake import Mistake
from seamlight.plate.peaks import Place
from seamlight.plate.taps import read_cuts, read_taps
from seamlight.plate.taps_decode import at_ceiling, decode

RATE = 44100


@pytest.fixture(scope="module")
def taps() -> RenderedTaps:
    return render(TapScene(*leaf_of(201)), 201)


def refused(file: Path) -> str:
    with pytest.raises(Mistake) as caught:
        read_taps([file])
    said = str(caught.value)
    assert "\n" not in said
    assert file.name in said
    return said


def left_out(file: Path) -> list[tuple[float, str]]:
    return [(cut.at_s, cut.left_out) for cut in read_cuts([file])[1] if cut.left_out]


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".ogg", ".m4a", ".webm"])
def test_every_kind_of_file(taps: RenderedTaps, tmp_path: Path, suffix: str) -> None:
    reading = read_taps([write_sound(tmp_path / f"t{suffix}", taps.samples, taps.rate)])
    assert reading.taps == 6
    assert not reading.warnings
    for mode in taps.modes[:3]:
        nearest = min((p for p in reading.peaks if p.kind == "wood"), key=lambda p: abs(p.hz - mode.hz))
        assert nearest.hz == pytest.approx(mode.hz, rel=1e-3)


def test_recordings_of_different_rates_together(taps: RenderedTaps, tmp_path: Path) -> None:
    scene = TapScene(*leaf_of(201))
    other = render(replace(scene, phone=replace(scene.phone, rate=48000)), 201)
    one = write_sound(tmp_path / "a.wav", taps.samples, taps.rate)
    two = write_sound(tmp_path / "b.m4a", other.samples, other.rate)
    reading = read_taps([one, two])
    assert reading.taps == 12
    hz = [peak.hz for peak in reading.peaks if peak.kind == "wood"]
    assert min(abs(h / taps.modes[0].hz - 1) for h in hz) < 1e-3


def test_silence_noise_and_hum(tmp_path: Path) -> None:
    t, dice = np.arange(6 * RATE) / RATE, np.random.default_rng(3)
    assert "silence" in refused(write_sound(tmp_path / "s.wav", np.zeros(6 * RATE), RATE))
    hiss = 0.01 * dice.normal(size=len(t))
    assert "no tap" in refused(write_sound(tmp_path / "n.wav", hiss, RATE))
    hum = 0.3 * np.sin(2 * np.pi * 50 * t) + 0.1 * np.sin(2 * np.pi * 150 * t) + 0.1 * hiss
    assert "hum" in refused(write_sound(tmp_path / "h.wav", hum, RATE))


@pytest.mark.parametrize("seed", [401, 402, 403])
def test_speech(taps: RenderedTaps, tmp_path: Path, seed: int) -> None:
    spoken = voice(6, RATE, seed) + 1e-3 * np.random.default_rng(seed).normal(size=6 * RATE)
    assert "speech" in refused(write_sound(tmp_path / "v.wav", spoken, RATE))
    before = np.concatenate((spoken[: 3 * RATE], taps.samples))
    file = write_sound(tmp_path / "both.wav", before, RATE)
    reading, cuts = read_cuts([file])
    good = [cut.at_s - 3 for cut in cuts if not cut.left_out]
    np.testing.assert_allclose(good, taps.at_s, atol=0.02)
    assert any("speech" in line for line in reading.warnings)
    nearest = min(reading.peaks, key=lambda p: abs(p.hz - taps.modes[0].hz))
    assert nearest.hz == pytest.approx(taps.modes[0].hz, rel=1e-3)


@pytest.mark.parametrize("suffix", [".wav", ".m4a"])
def test_a_clipped_tap(taps: RenderedTaps, tmp_path: Path, suffix: str) -> None:
    sound, start = taps.samples.copy(), int(taps.at_s[2] * RATE)
    sound[start - 20 : start + RATE] *= 100
    found = left_out(write_sound(tmp_path / f"c{suffix}", sound, RATE))
    assert [reason for _, reason in found] == ["clipped"]
    assert found[0][0] == pytest.approx(taps.at_s[2], abs=0.05)


def test_clipped_and_turned_down(taps: RenderedTaps, tmp_path: Path) -> None:
    loudest = np.abs(taps.samples).max()
    sound = np.clip(taps.samples, -0.15 * loudest, 0.15 * loudest)
    found = left_out(write_sound(tmp_path / "d.wav", sound, RATE))
    assert len(found) >= 4
    assert {reason for _, reason in found} == {"clipped"}


def test_a_high_value_is_not_a_ceiling(taps: RenderedTaps) -> None:
    assert not at_ceiling(np.asarray(taps.samples, dtype=np.float32)).any()
    slow = np.sin(2 * np.pi * 80 * np.arange(RATE) / RATE) * np.exp(-3 * np.arange(RATE) / RATE)
    assert not at_ceiling(np.asarray(slow / np.abs(slow).max(), dtype=np.float32)).any()


def test_two_at_once_and_too_short(taps: RenderedTaps, tmp_path: Path) -> None:
    sound, start, later = taps.samples.copy(), int(taps.at_s[1] * RATE), int(0.09 * RATE)
    sound[start + later : start + later + RATE] += 0.8 * taps.samples[start : start + RATE]
    found = left_out(write_sound(tmp_path / "two.wav", sound, RATE))
    assert [reason for _, reason in found] == ["two at once"] * 2
    end = int((taps.at_s[2] + 0.2) * RATE)
    found = left_out(write_sound(tmp_path / "short.wav", taps.samples[:end], RATE))
    assert [reason for _, reason in found] == ["too short"]


def test_opposite_phase(taps: RenderedTaps, tmp_path: Path) -> None:
    both = np.stack((taps.samples, -0.98 * taps.samples))
    reading = read_taps([write_sound(tmp_path / "o.wav", both, RATE)])
    assert reading.taps == 6
    assert any("opposite phase" in line for line in reading.warnings)
    alike = read_taps([write_sound(tmp_path / "a.wav", np.stack((taps.samples, taps.samples)), RATE)])
    assert not alike.warnings


def test_eight_kilohertz_is_named(tmp_path: Path) -> None:
    scene = TapScene(*leaf_of(201))
    low = render(replace(scene, phone=replace(scene.phone, rate=8000)), 201)
    reading = read_taps([write_sound(tmp_path / "e.wav", low.samples, 8000)])
    assert any("8 kHz" in line for line in reading.warnings)
    with pytest.raises(Mistake, match="3000 Hz"):
        decode(write_sound(tmp_path / "f.wav", low.samples[::2], 3000))


def test_an_hour_is_refused_by_its_header(tmp_path: Path) -> None:
    """The header says an hour; what follows is short, so it cannot have been decoded."""
    file = write_sound(tmp_path / "hour.wav", np.zeros(RATE), RATE)
    head = bytearray(file.read_bytes())
    at = head.index(b"data")
    size = 3600 * RATE * 2
    head[at + 4 : at + 8] = size.to_bytes(4, "little")
    head[4:8] = (size + 36).to_bytes(4, "little")
    with file.open("wb") as out:
        out.write(head)
        out.truncate(size + len(head))  # a hole, not an hour on the disk
    assert "60 minutes" in refused(file)


def test_no_sound_no_file_half_a_file(taps: RenderedTaps, tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="no such file"):
        read_taps([tmp_path / "nowhere.wav"])
    with pytest.raises(Mistake, match="no recording was given"):
        read_taps([])
    text = tmp_path / "list.m3u8"
    text.write_text("#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nother.wav\n")
    assert "no recording" in refused(text)
    whole = write_sound(tmp_path / "w.flac", taps.samples, RATE).read_bytes()
    half = tmp_path / "half.flac"
    half.write_bytes(whole[: len(whole) // 2])
    assert 2 <= read_taps([half]).taps <= 4


def test_places_carry_levels(tmp_path: Path) -> None:
    """Tapped on the still line of a mode, it is faint; at an antinode, loud."""
    piece, elastic = leaf_of(201)
    scene = TapScene(piece, elastic)
    places = (Place(0.06, 0.94), Place(0.5, 0.94))  # the twist is still in the middle of the length
    files = []
    for k, place in enumerate(places):
        made = render(replace(scene, tapping=replace(scene.tapping, at=(place.along, place.across))), 210 + k)
        files.append(write_sound(tmp_path / f"{k}.wav", made.samples, made.rate))
    reading = read_taps(files, places)
    assert reading.places == places
    twist = min(reading.peaks, key=lambda p: abs(p.hz - made.modes[0].hz))
    assert len(twist.level_at_db) == 2
    assert np.isnan(twist.level_at_db[1]) or twist.level_at_db[0] > twist.level_at_db[1] + 6
