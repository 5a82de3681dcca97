"""Where in a recording the taps are, and which of them are of no use."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, find_peaks, sosfilt

from seamlight.plate.taps_alike import repeated
from seamlight.plate.taps_bands import Sound
from seamlight.plate.taps_decode import Recording

Array = NDArray[np.float64]

_FRAME, _HOP = 256, 64  # samples at about 11 kHz: 23 ms and 6 ms
_FRAME_RATE = 16000.0  # the finest level of the pyramid below this is looked at
_BEFORE = 5  # frames over which a tap rises
_RISE_DB = 4.5  # mean over the spectrum
_OVER_FLOOR_DB, _UNDER_LOUDEST_DB = 9.0, 36.0
NO_TAP = "speech or another sound that is no tap"
_LEAD_S = 0.08
LEAST_S = 0.3  # a ring shorter than this tells no mode of a plate well
_TOGETHER_S = 0.26
_HIGH_HZ = 200.0
_ATTACK_S, _AT_ONCE = 0.022, 0.4  # power that a tap has reached at once, of its most
_WAVERS_DB = 3.5
_CROWD, _CROWD_S = 3, 0.34  # so many sudden sounds, each so soon after the last, are speech


@dataclass(frozen=True)
class TapCut:
    """One tap as it was cut from a recording.

    Attributes:
        file: which recording, from 0.
        at_s: its onset.
        until_s: end of its ring: the next sound, or the end.
        left_out: why it was left out, in a few words; empty for a good one.
    """

    file: int
    at_s: float
    until_s: float
    left_out: str = ""


@dataclass(frozen=True, eq=False)
class _Frames:
    """Power of short frames: (t,) seconds of their middles, (t, bins) power, (t,) mean rise in dB."""

    at_s: Array
    power: Array
    rise_db: Array
    hz: Array


@dataclass(frozen=True, eq=False)
class _High:
    """Power above 200 Hz, smoothed over 5 ms; `floor`: what it seldom falls below."""

    rate: float
    power: Array

    @property
    def floor(self) -> float:
        return float(np.percentile(self.power[:: max(int(self.rate / 200), 1)], 15))

    def between(self, start_s: float, end_s: float) -> Array:
        return self.power[max(int(start_s * self.rate), 0) : max(int(end_s * self.rate), 0)]


def _high(levels: list[tuple[float, Sound]]) -> _High:
    rate, sound = next(level for level in levels if level[0] < _FRAME_RATE)
    above = sosfilt(butter(2, _HIGH_HZ, "highpass", fs=rate, output="sos"), sound)
    width = max(int(0.005 * rate), 1)
    return _High(rate, np.convolve(above**2, np.ones(width) / width, "same"))


def find_taps(recording: Recording, levels: list[tuple[float, Sound]], file: int = 0) -> list[TapCut]:
    """All sudden sounds of a recording, the bad ones with the reason."""
    frames = _frames(levels)
    onsets = _onsets(frames)
    rate, sound = next(level for level in levels if level[0] < _FRAME_RATE)
    starts = [_refined(sound, rate, at) for at in onsets]
    ends = [*starts[1:], recording.seconds][: len(starts)]
    cuts = [TapCut(file, at, max(end - 0.01, at)) for at, end in zip(starts, ends, strict=True)]
    return [
        replace(cut, left_out=reason)
        for cut, reason in zip(cuts, _reasons(recording, levels, cuts), strict=True)
    ]


def _frames(levels: list[tuple[float, Sound]]) -> _Frames:
    rate, sound = next(level for level in levels if level[0] < _FRAME_RATE)
    lead = int(_LEAD_S * rate)
    padded = np.concatenate((np.zeros(lead, np.float32), sound, np.zeros(_FRAME, np.float32)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, _FRAME)[::_HOP]
    spectra = np.fft.rfft(windows * np.hanning(_FRAME).astype(np.float32), axis=1)[:, 1 : _FRAME * 3 // 8]
    power = np.asarray(spectra.real**2 + spectra.imag**2, dtype=np.float64)
    inside = power[2 * lead // _HOP :] if len(power) > 3 * lead // _HOP else power
    floor = 4 * np.percentile(inside, 15, axis=0) + 1e-9 * power.max() + 1e-16
    level = 10 * np.log10(power + floor)
    before = np.max([np.roll(level, k, axis=0) for k in range(3, _BEFORE + 1)], axis=0)
    rise = np.clip(level - before, 0, 40).mean(axis=1)
    rise[:_BEFORE] = 0.0
    at = (np.arange(len(power)) * _HOP + _FRAME / 2 - lead) / rate
    return _Frames(
        np.asarray(at),
        power,
        np.asarray(rise, dtype=np.float64),
        np.asarray((1 + np.arange(power.shape[1])) * rate / _FRAME),
    )


def _onsets(frames: _Frames) -> list[float]:
    """Times of sudden rises of the whole spectrum that stand out in level too."""
    peaks = find_peaks(frames.rise_db, height=_RISE_DB, distance=4)[0]
    loud = 10 * np.log10(frames.power[:, frames.hz > _HIGH_HZ].sum(axis=1) + 1e-16)
    floor = np.percentile(loud, 15)
    after = np.array([loud[k : k + 6].max() for k in peaks])
    before = np.array([loud[max(k - 6, 0) : max(k - 3, 1)].min() for k in peaks])
    keep = (after > floor + _OVER_FLOOR_DB) & (after > loud.max() - _UNDER_LOUDEST_DB) & (after > before + 6)
    return [float(frames.at_s[k]) for k in peaks[keep]] if len(peaks) else []


def _refined(sound: Sound, rate: float, about_s: float) -> float:
    """The onset to about a millisecond: where power steps up most."""
    short, long = int(0.004 * rate), int(0.010 * rate)
    first = int((about_s - 0.035) * rate) - long
    part = np.concatenate(
        (np.zeros(max(-first, 0)), sound[max(first, 0) : first + 2 * long + int(0.07 * rate)])
    )
    total = np.concatenate(([0.0], np.cumsum(part.astype(np.float64) ** 2)))
    if len(total) < 2 * long + short:
        return max(about_s, 0.0)
    at = np.arange(long, len(total) - short)
    after, before = (total[at + short] - total[at]) / short, (total[at] - total[at - long]) / long
    # where a step up is as good as any, the louder one: a tenth of the loudest counts as silence
    k = int(at[np.argmax(after / (before + 0.1 * after.max() + 1e-20))])
    return max((first + k) / rate, 0.0)


def _reasons(recording: Recording, levels: list[tuple[float, Sound]], cuts: list[TapCut]) -> list[str]:
    """Why each is of no use; empty where it is of use."""
    high = _high(levels)
    reasons = [_of_its_own(recording, high, cut) for cut in cuts]
    if NO_TAP in reasons:
        rate, sound = next(level for level in levels if level[0] < _FRAME_RATE)
        again = repeated(sound, rate, [(cut.at_s, cut.until_s) for cut in cuts])
        reasons = [
            "" if same and reason == NO_TAP else reason for same, reason in zip(again, reasons, strict=True)
        ]
    for k in _crowded(cuts):
        reasons[k] = reasons[k] or NO_TAP
    loudness = [_peak(recording, cut) for cut in cuts]
    no_taps = reasons.count(NO_TAP)
    if no_taps >= _CROWD and no_taps > 3 * reasons.count(""):
        return [reason or NO_TAP for reason in reasons]  # words among words
    for k in range(len(cuts) - 1):
        near = cuts[k + 1].at_s - cuts[k].at_s < _TOGETHER_S
        if near and loudness[k + 1] > 0.2 * loudness[k]:
            for one in (k, k + 1):
                reasons[one] = reasons[one] or "two at once"
    for k, cut in enumerate(cuts):
        if not reasons[k] and cut.until_s - cut.at_s < LEAST_S:
            reasons[k] = "too short"
    return reasons


def _crowded(cuts: list[TapCut]) -> set[int]:
    """Sounds in a run that no hand taps."""
    found: set[int] = set()
    run: list[int] = []
    for k, cut in enumerate(cuts):
        run = [*run, k] if run and cut.at_s - cuts[run[-1]].at_s < _CROWD_S else [k]
        if len(run) >= _CROWD:
            found.update(run)
    return found


def _peak(recording: Recording, cut: TapCut) -> float:
    first = int(cut.at_s * recording.rate)
    return float(np.abs(recording.samples[first : first + recording.rate // 20]).max(initial=0.0))


def _of_its_own(recording: Recording, high: _High, cut: TapCut) -> str:
    rate = recording.rate
    first, last = int((cut.at_s - 0.005) * rate), int(min(cut.at_s + 0.3, cut.until_s) * rate)
    if recording.clipped[max(first, 0) : last].any():
        return "clipped"
    if _is_speech(high, cut):
        return NO_TAP
    return ""


def _is_speech(high: _High, cut: TapCut) -> bool:
    """Whether a sound swells or wavers as a voice does; a tap is loudest at once and only dies."""
    early, late = high.between(cut.at_s - 0.004, cut.at_s + _ATTACK_S), min(cut.at_s + 0.35, cut.until_s)
    whole = high.between(cut.at_s - 0.004, late)
    if len(whole) < 30:
        return False
    if early.max() < _AT_ONCE * whole.max():
        return True
    # smoothed over 50 ms, so that partials that beat do not count
    width = int(0.05 * high.rate)
    total = np.cumsum(np.concatenate(([0.0], whole)))
    level = 10 * np.log10((total[width:] - total[:-width]) / width + 1e-16)
    if len(level) < 2:
        return False
    above = level > max(10 * np.log10(high.floor + 1e-16) + 10, level[0] - 25)
    return bool(np.any((level - np.minimum.accumulate(level) > _WAVERS_DB) & above))
