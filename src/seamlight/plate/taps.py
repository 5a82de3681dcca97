"""From recordings of taps to peaks: decoded, cut apart, each ring fitted, all averaged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from seamlight.mistake import Mistake
from seamlight.plate.peaks import Peak, PeakKind, Place, TapReading
from seamlight.plate.taps_average import Heard, mains_hz, on_mains, peak_of, tap_gains, weighted
from seamlight.plate.taps_bands import (
    Complex,
    Octave,
    Sound,
    at_base_rate,
    gain,
    octaves,
    pyramid,
    settle_s,
    slow,
)
from seamlight.plate.taps_decode import Recording, decode
from seamlight.plate.taps_find import NO_TAP, TapCut, find_taps
from seamlight.plate.taps_poles import Fit, common_poles, fit, merged, strange

_TAP_AGAIN = "tap again, a second apart, in a quiet room, nothing else ringing"
_VOICE_HZ = (80.0, 1000.0)
_RINGS_AS_OTHERS, _STRANGER = 0.9, 2.5
_PERIODS = 110  # of an octave's lower end: the most of a ring that is fitted
_LEAST_Q, _WOOD_Q, _STEADY_Q = 12.0, 350.0, 700.0  # the driest rosewood loses 0.003: Q 330 (from memory)
_STEADY_RATIO = 0.5
_SURELY = 110  # samples of a slow signal, 55 periods: fitted even where little stands out of the noise
_HEARD_IN = 0.5  # of the taps
_WITHIN_DB = 50.0
_MOST_WOOD = 12  # the modes that matter are among the lowest
_MOST_STEADY = 12


Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Band:
    """One octave of all good taps: what they share, and (t,) energy of each and what of it is its own."""

    octave: Octave
    heard: tuple[Heard, ...]
    energy: NDArray[np.float64]
    strange: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Taps:
    """Recordings with the taps found in them.

    Attributes:
        recordings: one a file.
        levels: their pyramids, all at one rate.
        cuts: every tap found, good and bad, in order.
    """

    recordings: tuple[Recording, ...]
    levels: tuple[list[tuple[float, Sound]], ...]
    cuts: tuple[TapCut, ...]

    @property
    def good(self) -> tuple[TapCut, ...]:
        """Those to be read."""
        return tuple(cut for cut in self.cuts if not cut.left_out)


def read_taps(files: Sequence[Path], places: tuple[Place, ...] = ()) -> TapReading:
    """Peaks of a tapped piece from recordings of its taps.

    Args:
        files: WAV, FLAC, M4A, MP3 or OGG, several taps in each.
        places: where each file's taps or fingers were, one a file; empty where all were alike.

    Raises:
        Mistake: a file that cannot be read, or no good tap in any.
    """
    return read_cuts(files, places)[0]


def read_cuts(files: Sequence[Path], places: tuple[Place, ...] = ()) -> tuple[TapReading, tuple[TapCut, ...]]:
    """The same with every tap found, so that a page can draw them, the bad ones with the reason.

    Raises:
        Mistake: a file that cannot be read, or no good tap in any.
    """
    return reading_of(open_taps(files), places)


def open_taps(files: Sequence[Path]) -> Taps:
    """Recordings read and their taps cut apart.

    Raises:
        Mistake: a file that cannot be read, or no good tap in any.
    """
    if not files:
        raise Mistake("no recording was given", do="give one or more recordings of taps")
    recordings = tuple(decode(Path(path)) for path in files)
    base = [at_base_rate(one.samples, one.rate) for one in recordings]
    rate = base[0][1]
    levels = tuple(pyramid(_at_rate(sound, own, rate), rate) for sound, own in base)
    cuts = tuple(
        cut
        for file, (recording, own) in enumerate(zip(recordings, levels, strict=True))
        for cut in find_taps(recording, own, file)
    )
    taps = Taps(recordings, levels, cuts)
    if not taps.good:
        raise Mistake(_nothing(taps), where=_names(taps), do=_TAP_AGAIN)
    return taps


def _at_rate(sound: Sound, own: float, rate: float) -> Sound:
    """A sound at the first recording's rate."""
    if own == rate:
        return sound
    ratio = Fraction(round(rate), round(own))
    return np.asarray(resample_poly(sound, ratio.numerator, ratio.denominator), dtype=np.float32)


def _names(taps: Taps) -> str:
    return ", ".join(one.name for one in taps.recordings)


def _nothing(taps: Taps) -> str:
    if not taps.cuts:
        if max(float(np.abs(one.samples).max(initial=0.0)) for one in taps.recordings) < 1e-4:
            return "there is only silence"
        return "no tap was found"
    return "no good tap: " + _counted(taps.cuts)


def _counted(cuts: Sequence[TapCut]) -> str:
    counts = Counter(cut.left_out for cut in cuts if cut.left_out)
    return ", ".join(f"{count} {reason}" for reason, count in counts.items())


def reading_of(taps: Taps, places: tuple[Place, ...] = ()) -> tuple[TapReading, tuple[TapCut, ...]]:
    """Peaks of the good taps, and all taps with what is wrong with each.

    Raises:
        Mistake: nothing rings in them.
    """
    bands = [_octave(taps, octave) for octave in octaves(taps.levels[0])]
    odd = _odd(bands, len(taps.good))
    if odd.any():
        return reading_of(_without(taps, odd), places)
    heard = [one for band in bands for one in band.heard]
    heard.sort(key=lambda one: weighted(one.hz, one.hz_sd)[0])
    heard = _unique(heard)
    if not any(not _steady(one) for one in heard):
        what = "only hum was heard" if heard else "nothing rings in the taps"
        raise Mistake(
            what, where=_names(taps), do="hold the piece more lightly and tap nearer the microphone"
        )
    levels = 20 * np.log10(np.array([one.level for one in heard]).T)
    levels -= tap_gains(levels)[:, None]
    typical = np.nanmedian(levels, axis=0)
    steady = [_steady(one) for one in heard]
    lines = [(weighted(one.hz, one.hz_sd)[0], float(10 ** (typical[k] / 20))) for k, one in enumerate(heard)]
    mains = mains_hz([line for line, is_steady in zip(lines, steady, strict=True) if is_steady])
    kinds: list[PeakKind] = [
        "wood" if not is_steady else "hum" if mains and on_mains(hz, mains, 0.002) else "room"
        for (hz, _), is_steady in zip(lines, steady, strict=True)
    ]
    loudest = max((typical[k] for k, kind in enumerate(kinds) if kind == "wood"), default=max(typical))
    file_of = np.array([cut.file for cut in taps.good])
    peaks: list[Peak] = []
    for k, one in enumerate(heard):
        at = tuple(_mean(levels[file_of == file, k] - loudest) for file in range(len(places)))
        peaks.append(peak_of(one, float(typical[k] - loudest), kinds[k], at))
    return TapReading(_kept(peaks), len(taps.good), places, _warnings(taps)), taps.cuts


def _odd(bands: Sequence[_Band], count: int) -> Flags:
    """(t,) taps that are no ring of the partials that the others share."""
    energy, left = np.zeros(count), np.zeros(count)
    for band in bands:
        if not _VOICE_HZ[0] <= band.octave.low_hz < _VOICE_HZ[1]:
            continue
        energy += band.energy
        left += band.strange
    rings = 1 - left / np.maximum(energy, 1e-30)
    odd = (rings < _RINGS_AS_OTHERS * np.median(rings)) & (left > _STRANGER * np.median(left))
    return np.asarray(odd & (count > 2))


def _without(taps: Taps, odd: Flags) -> Taps:
    """The same with some of the good taps named as none."""
    which = {id(cut) for cut, bad in zip(taps.good, odd, strict=True) if bad}
    cuts = (replace(cut, left_out=NO_TAP) if id(cut) in which else cut for cut in taps.cuts)
    return replace(taps, cuts=tuple(cuts))


def _mean(values: NDArray[np.float64]) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


def _steady(one: Heard) -> bool:
    """Whether it sounded as loud before the taps as after them."""
    hz, decay = weighted(one.hz, one.hz_sd)[0], weighted(one.decay_s, one.decay_sd)[0]
    if decay > 0 and np.pi * hz / decay < _WOOD_Q:
        return False
    known = one.before[np.isfinite(one.before)]
    if len(known):
        return float(np.median(known)) > _STEADY_RATIO
    return (decay <= 0 or np.pi * hz / decay > _STEADY_Q) and (on_mains(hz, 50) or on_mains(hz, 60))


def _kept(peaks: Sequence[Peak]) -> tuple[Peak, ...]:
    """Those worth showing: loud enough, the lowest of the wood, the steady tones among them."""
    loud = [peak for peak in peaks if peak.level_db > -_WITHIN_DB]
    wood = [peak for peak in loud if peak.kind == "wood"][:_MOST_WOOD]
    highest = wood[-1].hz if wood else np.inf
    steady = [peak for peak in loud if peak.kind != "wood" and peak.hz < 1.2 * highest][:_MOST_STEADY]
    return tuple(sorted([*wood, *steady], key=lambda peak: peak.hz))


def _warnings(taps: Taps) -> tuple[str, ...]:
    lines = [line for one in taps.recordings for line in one.warnings]
    for file, one in enumerate(taps.recordings):
        bad = [cut for cut in taps.cuts if cut.file == file and cut.left_out]
        if bad:
            at = ", ".join(f"{cut.at_s:.1f} s" for cut in bad[:6])
            lines.append(f"{one.name}: left out {_counted(bad)} (at {at}{', ...' if len(bad) > 6 else ''})")
    if len(taps.good) < 3:
        lines.append(f"only {len(taps.good)} good tap{'s' if len(taps.good) > 1 else ''}: tap six times")
    return tuple(lines)


def _unique(heard: Sequence[Heard]) -> list[Heard]:
    """One of each partial that two octaves share at their border: the better told."""
    kept: list[Heard] = []
    for one in heard:
        if kept:
            (a, sd_a), (b, sd_b) = weighted(kept[-1].hz, kept[-1].hz_sd), weighted(one.hz, one.hz_sd)
            alike = _steady(one) == _steady(kept[-1])
            if alike and abs(b / a - 1) < max(0.001, 2 * (sd_a + sd_b) / a) and abs(b / a - 1) < 0.01:
                if np.nanmedian(one.hz_sd) < np.nanmedian(kept[-1].hz_sd):
                    kept[-1] = one
                continue
        kept.append(one)
    return kept


def _octave(taps: Taps, octave: Octave) -> _Band:
    """The partials of one octave."""
    rings = [_ring(taps, octave, cut) for cut in taps.good]
    length = _length(rings)
    rings = [ring[:length] for ring in rings]
    energy = np.array([float(np.vdot(ring, ring).real) for ring in rings])
    poles = common_poles(rings)
    if not len(poles):
        return _Band(octave, (), energy, energy)
    hz, decay = octave.hz(poles), octave.decay_s(poles)
    with np.errstate(divide="ignore"):
        q = np.pi * hz / decay
    held = (q > _STEADY_Q) | (decay <= 0)
    poles = np.where(held, 1j * poles.imag, poles)
    keep = merged(rings, poles, held)
    poles, held, hz, q = poles[keep], held[keep], hz[keep], q[keep]
    fits = [fit(ring, poles, held) for ring in rings]
    wanted = [
        k for k in range(len(poles)) if octave.holds(float(hz[k]), 0.02) and (held[k] or q[k] > _LEAST_Q)
    ]
    found = (_heard(taps, octave, fits, k) for k in wanted)
    own = np.array([strange(ring, poles) for ring in rings])
    return _Band(octave, tuple(one for one in found if one is not None), energy, own)


def _start_s(octave: Octave, cut: TapCut) -> float:
    """When the blow is over: a fingertip stays some 10 ms; what rings high was struck by something harder."""
    return cut.at_s + (0.012 if octave.low_hz < 300 else 0.006) + settle_s(octave)


def _ring(taps: Taps, octave: Octave, cut: TapCut) -> Complex:
    start = _start_s(octave, cut)
    end = min(cut.until_s, start + _PERIODS / octave.low_hz)
    return slow(taps.levels[cut.file], octave, start, end)


def _length(rings: Sequence[Complex]) -> int:
    """How much of the rings stands out of the noise, samples."""
    longest = max((len(ring) for ring in rings), default=0)
    block = 10
    power = []
    for at in range(0, longest, block):
        parts = [np.mean(np.abs(ring[at : at + block]) ** 2) for ring in rings if len(ring) >= at + block]
        if not parts:
            break
        power.append(float(np.mean(parts)))
    if len(power) < 4:
        return longest
    over = np.flatnonzero(np.array(power) > 1.5 * min(power))
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
        clear = amplitude**2 > 4 * one.noise and sd < max(0.3 * decay, 0.02 * hz) and octave.holds(hz, 0.1)
        if not clear:
            continue
        back = _start_s(octave, cut) - cut.at_s
        level = amplitude / float(gain(octave, pole)[0]) * np.exp(decay * back)
        rows[:, t] = hz, decay, sd / (2 * np.pi), sd, level, _before(taps, octave, cut, hz) / level
    shown = np.isfinite(rows[0])
    if shown.sum() < max(1, _HEARD_IN * len(fits)):
        return None
    return Heard(*rows)


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
