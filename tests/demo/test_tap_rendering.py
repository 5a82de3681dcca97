"""Rendered taps are what they say: plain spectra and envelopes, nothing of the reader."""

from dataclasses import replace

import numpy as np
import pytest

from seamlight.demo.tap_cases import CASES, FIRST_SEED, leaf_of
from seamlight.demo.taps import Phone, RenderedTaps, Room, TapScene, render

STILL = Room(noise_db=-90, hum_db=None, reverb_db=None)


@pytest.fixture(scope="module")
def quiet() -> RenderedTaps:
    scene = TapScene(*leaf_of(203), room=STILL, phone=Phone(low_hz=5))
    return render(replace(scene, tapping=replace(scene.tapping, taps=1, varies=0.0)), 203)


def test_partials_stand_where_the_truth_says(quiet: RenderedTaps) -> None:
    start = int((quiet.at_s[0] + 0.02) * quiet.rate)
    ring = quiet.samples[start : start + int(1.4 * quiet.rate)]
    n = 8 * len(ring)
    size, hz = np.abs(np.fft.rfft(ring, n)), np.fft.rfftfreq(n, 1 / quiet.rate)
    for mode in quiet.modes[:3]:
        near = np.abs(hz / mode.hz - 1) < 0.02
        assert hz[near][np.argmax(size[near])] == pytest.approx(mode.hz, rel=4e-3)


def test_the_lowest_decays_with_its_quality(quiet: RenderedTaps) -> None:
    """Power of one partial alone, by a window moved along: it falls by 2 pi f / Q nepers a second."""
    mode = max((m for m in quiet.modes[:3]), key=lambda m: m.q)  # along: it outlasts the others
    rate, first = quiet.rate, int(quiet.at_s[0] * quiet.rate)
    t = np.arange(int(0.25 * rate)) / rate
    window = np.hanning(len(t)) * np.exp(-2j * np.pi * mode.hz * t)
    starts = np.array([0.5, 0.9])
    sizes = [abs(np.dot(window, quiet.samples[first + int(s * rate) :][: len(t)])) for s in starts]
    decay = np.log(sizes[0] / sizes[1]) / (starts[1] - starts[0])
    assert np.pi * mode.hz / decay == pytest.approx(mode.q, rel=0.03)


def test_noise_is_as_loud_as_said() -> None:
    scene = TapScene(*leaf_of(204), room=replace(STILL, noise_db=-20))
    rendered = render(scene, 204)
    rate, half = rendered.rate, rendered.rate // 2
    rings = [rendered.samples[int(a * rate) :][:half] for a in rendered.at_s]
    ring = np.sqrt(np.mean([np.mean(r**2) for r in rings]))
    before = rendered.samples[: int(0.65 * rate)]
    assert 20 * np.log10(before.std() / ring) == pytest.approx(-20, abs=1.0)


def test_the_table_is_of_other_seeds() -> None:
    assert all(case.seed >= FIRST_SEED for case in CASES)
    assert len({case.name for case in CASES}) == len(CASES)
