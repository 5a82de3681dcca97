"""Octaves, poles, averages: each part of the reader on signals whose answer is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.plate.taps_average import mains_hz, on_mains, tap_gains, weighted
from seamlight.plate.taps_bands import at_base_rate, gain, octaves, pyramid, slow
from seamlight.plate.taps_poles import common_poles, fit, merged

RATE = 44100.0


def ring(*partials: tuple[float, float, float], seconds: float = 2.0, noise: float = 0.0) -> np.ndarray:
    """Sum of damped partials (hz, q, amplitude) with white noise."""
    t = np.arange(int(seconds * RATE)) / RATE
    sound = sum(a * np.exp(-np.pi * f / q * t) * np.sin(2 * np.pi * f * t + f) for f, q, a in partials)
    sound = sound + noise * np.random.default_rng(5).normal(size=len(t))
    return np.asarray(sound, dtype=np.float32)


def told(sound: np.ndarray, hz: float) -> tuple[float, float, float]:
    """Frequency, quality and amplitude of the partial nearest to hz, from one tap at 0."""
    levels = pyramid(sound, RATE)
    octave = next(one for one in octaves(levels) if one.holds(hz))
    y = slow(levels, octave, 0.06, 2.0)[:240]
    poles = common_poles([y])
    keep = merged([y], poles, np.zeros(len(poles), dtype=bool))
    found = fit(y, poles[keep], np.zeros(int(keep.sum()), dtype=bool))
    assert found is not None
    k = int(np.argmin(np.abs(octave.hz(found.log_poles) - hz)))
    pole = found.log_poles[k : k + 1]
    decay = float(octave.decay_s(pole)[0])
    start = np.ceil(0.06 * octave.rate) / octave.rate
    size = abs(found.amplitudes[k]) / gain(octave, pole)[0] * np.exp(decay * start)
    return float(octave.hz(pole)[0]), np.pi * float(octave.hz(pole)[0]) / decay, float(2 * size)


@settings(max_examples=25, deadline=None)
@given(st.floats(15, 6000), st.floats(40, 250))
def test_one_partial_is_exact(hz: float, q: float) -> None:
    if np.pi * hz / q * 0.06 > 6:  # it is gone before the reader looks
        return
    found = told(ring((hz, q, 0.5)), hz)
    assert found[0] == pytest.approx(hz, rel=1e-4)
    assert found[1] == pytest.approx(q, rel=5e-3)
    assert found[2] == pytest.approx(0.5, rel=0.02)


def test_close_partials_are_told_apart() -> None:
    sound = ring((107.0, 60, 0.5), (113.4, 50, 0.6), (119.0, 90, 0.3), noise=2e-3)
    for hz, q in ((107.0, 60), (113.4, 50), (119.0, 90)):
        found = told(sound, hz)
        assert found[0] == pytest.approx(hz, rel=1e-3)
        assert found[1] == pytest.approx(q, rel=0.05)


def test_a_partial_under_the_hum() -> None:
    t = np.arange(2 * int(RATE)) / RATE
    sound = ring((50.4, 60, 0.5), noise=1e-3) + 0.2 * np.sin(2 * np.pi * 50 * t + 1)
    assert told(np.asarray(sound, dtype=np.float32), 50.4)[0] == pytest.approx(50.4, rel=1e-3)


def test_noise_has_hardly_any_partials() -> None:
    """Few enough that asking for them in half of the taps leaves none."""
    levels = pyramid(ring((100.0, 50, 0.0), noise=0.1), RATE)
    counts = [len(common_poles([slow(levels, one, 0, 2)[:240]])) for one in octaves(levels)]
    assert np.mean(counts) < 0.5
    assert max(counts) <= 2


def test_the_pyramid_keeps_time_and_level() -> None:
    t = np.arange(int(RATE)) / RATE
    for rate, sound in pyramid(np.asarray(np.sin(2 * np.pi * 18 * t), dtype=np.float32), RATE)[:8]:
        inner = slice(len(sound) // 4, len(sound) // 2)
        at = np.arange(len(sound))[inner] / rate
        np.testing.assert_allclose(sound[inner], np.sin(2 * np.pi * 18 * at), atol=2e-3)


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 44100, 48000, 96000, 192000])
def test_any_rate_comes_to_a_base_rate(rate: int) -> None:
    sound = np.asarray(np.sin(2 * np.pi * 100 * np.arange(rate) / rate), dtype=np.float32)
    out, base = at_base_rate(sound, rate)
    assert 22000 <= base <= 50000
    assert len(out) / base == pytest.approx(1.0, abs=0.01)


def test_averages_know_noise_from_scatter() -> None:
    mean, sd = weighted(np.array([100.0, 100.2, 99.8, 140.0]), np.full(4, 0.1))
    assert mean == pytest.approx(100.0, abs=0.01)  # the stray one is let go
    assert sd == pytest.approx(0.2, rel=0.05)
    mean, _ = weighted(np.array([100.0, 103.0, 99.0]), np.array([0.01, 5.0, 5.0]))
    assert mean == pytest.approx(100.0, abs=0.01)  # a well told one counts most
    assert np.isnan(weighted(np.array([np.nan]), np.array([1.0]))[0])


def test_gains_of_taps() -> None:
    hard, partials = np.array([0.0, 6.0, -3.0]), np.array([-20.0, 0.0, -10.0, -5.0])
    levels = hard[:, None] + partials
    levels[0, 2] = np.nan
    gains = tap_gains(levels)
    np.testing.assert_allclose(gains - gains[0], hard, atol=1e-9)


def test_mains() -> None:
    assert mains_hz([(50.02, 1.0), (150.06, 0.3), (87.3, 2.0)]) == pytest.approx(50.02, abs=1e-3)
    assert mains_hz([(59.98, 1.0), (119.96, 1.0)]) == pytest.approx(59.98, abs=1e-3)
    assert mains_hz([(87.3, 1.0)]) is None
    assert on_mains(149.9, 50.0)
    assert not on_mains(143.0, 50.0)
