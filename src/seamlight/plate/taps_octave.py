"""The partials of one octave of all good taps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.plate.taps_average import STEADY_Q, Heard
from seamlight.plate.taps_bands import Complex, Octave, gain, settle_s, slow
from seamlight.plate.taps_find import TapCut
from seamlight.plate.taps_open import Taps
from seamlight.plate.taps_poles import Fit, common_poles, fit, merged, strange

_PERIODS = 110  # of an octave's lower end: the most of a ring that is fitted
_SURELY = 110  # samples of a slow signal, 55 periods: fitted even where little stands out of the noise
_LEAST_Q = 12.0
_HEARD_IN = 0.5  # of the taps of a recording


@dataclass(frozen=True, eq=False)
class Band:
    """One octave of all good taps: what they share, and (t,) energy of each and what of it is its own."""

    octave: Octave
    heard: tuple[Heard, ...]
    energy: NDArray[np.float64]
    strange: NDArray[np.float64]


def read_octave(taps: Taps, octave: Octave) -> Band:
    """The partials of one octave."""
    rings = [_ring(taps, octave, cut) for cut in taps.good]
    length = _length(rings)
    rings = [ring[:length] for ring in rings]
    energy = np.array([float(np.vdot(ring, ring).real) for ring in rings])
    poles = common_poles(rings)
    if not len(poles):
        return Band(octave, (), energy, energy)
    hz, decay = octave.hz(poles), octave.decay_s(poles)
    with np.errstate(divide="ignore"):
        q = np.pi * hz / decay
    held = (q > STEADY_Q) | (decay <= 0)
    poles = np.where(held, 1j * poles.imag, poles)
    keep = merged(rings, poles, held)
    poles, held, hz, q = poles[keep], held[keep], hz[keep], q[keep]
    fits = [fit(ring, poles, held) for ring in rings]
    wanted = [
        k for k in range(len(poles)) if octave.holds(float(hz[k]), 0.02) and (held[k] or q[k] > _LEAST_Q)
    ]
    found = (_heard(taps, octave, fits, k) for k in wanted)
    own = np.array([strange(ring, poles) for ring in rings])
    return Band(octave, tuple(one for one in found if one is not None), energy, own)


def _start_s(octave: Octave, cut: TapCut) -> float:
    """When the blow is over: a fingertip stays some 10 ms; what rings high was struck by something harder."""
    return cut.at_s + (0.012 if octave.low_hz < 300 else 0.006) + settle_s(octave)


def _ring(taps: Taps, octave: Octave, cut: TapCut) -> Complex:
    start = _start_s(octave, cut)
    end = min(cut.until_s, start + _PERIODS / octave.low_hz)
    return slow(taps.levels[cut.file], octave, start, end)


def _length(rings: Sequence[Complex]) -> int:
    """How much of the rings stands out of the noise, samples."""
    block = 10
    longest = max((len(ring) for ring in rings), default=0)
    sums, counts = np.zeros(-(-longest // block)), np.zeros(-(-longest // block))
    for ring in rings:
        whole = len(ring) // block
        sums[:whole] += (np.abs(ring[: whole * block]) ** 2).reshape(whole, block).mean(axis=1)
        counts[:whole] += 1
    power = sums[counts > 0] / counts[counts > 0]
    if len(power) < 4:
        return longest
    over = np.flatnonzero(power > 1.5 * power.min())
    return max(int(over[-1] + 2) * block if len(over) else 0, _SURELY)


def _heard(taps: Taps, octave: Octave, fits: Sequence[Fit | None], k: int) -> Heard | None:
    """One partial over all taps, or None where too few show it."""
    rows = np.full((6, len(fits)), np.nan)
    for t, (one, cut) in enumerate(zip(fits, taps.good, strict=True)):
        if one is None:
            continue
        pole = one.log_poles[k : k + 1]
        hz, decay = float(octave.hz(pole)[0]), float(octave.decay_s(pole)[0])
        sd = (one.variances[k] / 2) ** 0.5 * octave.slow_rate
        amplitude = float(np.abs(one.amplitudes[k]))
        clear = amplitude**2 > 2 * one.noise and sd < max(0.3 * decay, 0.02 * hz) and octave.holds(hz, 0.1)
        if not clear:
            continue
        back = _start_s(octave, cut) - cut.at_s
        level = amplitude / float(gain(octave, pole)[0]) * np.exp(decay * back)
        rows[:, t] = hz, decay, sd / (2 * np.pi), sd, level, _before(taps, octave, cut, hz) / level
    return Heard(*rows) if _often(np.isfinite(rows[0]), taps) else None


def _often(shown: NDArray[np.bool_], taps: Taps) -> bool:
    """Whether a partial is in enough taps of some recording: tapped elsewhere it may be silent."""
    file_of = np.array([cut.file for cut in taps.good])
    most = max(float(shown[file_of == file].mean()) for file in set(file_of))
    return bool(most >= _HEARD_IN and shown.sum() >= min(2, len(shown)))


def _before(taps: Taps, octave: Octave, cut: TapCut, hz: float) -> float:
    """Amplitude of a frequency in the stretch before a tap; nan where there is none."""
    periods = 40 / octave.low_hz
    earlier = [c.at_s for c in taps.cuts if c.file == cut.file and c.at_s < cut.at_s - 0.02]
    begin = max(cut.at_s - periods, (earlier[-1] + 0.1) if earlier else 0.0)
    y = slow(taps.levels[cut.file], octave, begin, cut.at_s - 0.004 - settle_s(octave))
    if len(y) < 16:
        return float("nan")
    pole = np.array([octave.log_pole(hz)])
    turning = np.exp(-pole[0] * np.arange(len(y)))
    window = np.hanning(len(y) + 2)[1:-1]
    amplitude = abs(np.sum(window * turning * y)) / window.sum()
    return float(amplitude / gain(octave, pole)[0])
