"""Taps rendered by modal sums: a plate in air, a fingertip, a hand that holds it, a room and a phone.

The plate's modes come from the plate room's own model; how they sound comes from here alone, and the reader
of taps is told none of it: air, moisture, damping by the hand, hum, noise, reverb, the phone's limits.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from seamlight.plate.model import corrections, modes_of, named_modes, surroundings
from seamlight.plate.named import NAMES, Name
from seamlight.plate.piece import Piece
from seamlight.plate.ritz import SYMMETRIES, RitzMode
from seamlight.plate.stiffness import Elastic

Array = NDArray[np.float64]
Spot = tuple[float, float]

# Losses 1/Q of spruce along, across and in shear (from memory: 0.006-0.010 along, 0.016-0.026 across)
LOSSES = (0.0075, 0.0195, 0.013)
_COUPLING_LOSS = 0.0135


@dataclass(frozen=True)
class Room:
    """Where it was recorded. Levels in dB beside the first half second of an average tap, all rms.

    Attributes:
        noise_db: room noise, falling with frequency.
        hum_db: of the mains' strongest harmonic; None for none.
        mains_hz: 50 or 60, as it is that day.
        tone: a fan or a fridge: Hz and dB; None for none.
        reverb_db: energy of the reverb beside the direct sound; its 60 dB take `reverb_s`. A microphone at
            10 cm is deep in the near field of modes that move as much air up as down: some 40 dB.
    """

    noise_db: float = -20.0
    hum_db: float | None = -18.0
    mains_hz: float = 50.015
    tone: tuple[float, float] | None = None
    reverb_db: float | None = -40.0
    reverb_s: float = 0.4


@dataclass(frozen=True)
class Phone:
    """What a phone's microphone leaves of it: lowest frequency passed well, level of full scale, rate."""

    rate: int = 44100
    low_hz: float = 60.0
    peak: float = 0.6


@dataclass(frozen=True)
class Tapping:
    """How it was tapped.

    Attributes:
        at, held, heard: tap, fingers, microphone, by fractions of length and width.
        fingers: loss that the fingers add per squared movement of the shape where they hold.
        pulse_s: how long the fingertip stays.
        varies: of fingers, pulse and strength from tap to tap.
        gap_s: between taps, least and most.
    """

    at: Spot = (0.31, 0.93)
    held: Spot = (0.224, 1.0)
    heard: Spot = (0.42, 0.12)
    fingers: float = 0.002
    pulse_s: float = 0.004
    varies: float = 0.1
    taps: int = 6
    gap_s: tuple[float, float] = (1.5, 2.2)


@dataclass(frozen=True)
class TapScene:
    """A plate, a room, a phone, a hand."""

    piece: Piece
    elastic: Elastic
    room: Room = field(default_factory=Room)
    phone: Phone = field(default_factory=Phone)
    tapping: Tapping = field(default_factory=Tapping)
    losses: tuple[float, float, float] = LOSSES
    air_kg_m3: float = 1.19
    detuning: float = 0.001


@dataclass(frozen=True)
class TrueMode:
    """A mode as it was rendered: Hz, quality with the fingers on, name, dB beside the loudest at the tap."""

    hz: float
    q: float
    name: Name | Literal["other"]
    level_db: float


@dataclass(frozen=True, eq=False)
class RenderedTaps:
    """Sound (n,), full scale 1, with its truth."""

    samples: Array
    rate: int
    at_s: tuple[float, ...]
    modes: tuple[TrueMode, ...]


@dataclass(frozen=True, eq=False)
class _Ringing:
    """Modes of a scene, (m,) each."""

    shapes: tuple[RitzMode, ...]
    names: tuple[Name | Literal["other"], ...]
    hz: Array
    wood_loss: Array


def render(scene: TapScene, seed: int) -> RenderedTaps:
    """One recording of a scene."""
    dice = np.random.default_rng([seed, 41])
    ringing = _ringing(scene, dice)
    rate, how = scene.phone.rate, scene.tapping
    gaps = dice.uniform(*how.gap_s, how.taps)
    at_s = 0.7 + np.concatenate(([0.0], np.cumsum(gaps[:-1])))
    samples = np.zeros(int((at_s[-1] + max(gaps[-1], 1.5)) * rate))
    losses, levels = [], []
    for start in at_s:
        ring, loss, level = _tap(scene, ringing, dice)
        first = int(start * rate)
        ring = ring[: len(samples) - first]
        samples[first : first + len(ring)] += ring
        losses.append(loss)
        levels.append(level)
    sound = _in_room(scene, samples, at_s, dice)
    mean_loss, level = np.mean(losses, axis=0), np.mean(levels, axis=0)
    level_db = 20 * np.log10(level / level.max())
    order = np.argsort(ringing.hz)
    modes = tuple(
        TrueMode(float(ringing.hz[k]), float(1 / mean_loss[k]), ringing.names[k], float(level_db[k]))
        for k in order
    )
    return RenderedTaps(sound, rate, tuple(float(t) for t in at_s), modes)


def _ringing(scene: TapScene, dice: np.random.Generator) -> _Ringing:
    """The plate's modes in its air, a little off from the model, with the wood's own losses."""
    piece, elastic = scene.piece, scene.elastic
    air = surroundings(piece, scene.air_kg_m3, SYMMETRIES)
    shapes = [mode for one in SYMMETRIES for mode in modes_of(one, piece, elastic, air, 8)]
    named = named_modes(piece, elastic, air)
    factors = corrections(piece, elastic, named)
    names = [_name(mode, named.modes) for mode in shapes]
    hz = [m.hz * (1.0 if n == "other" else factors.of(n)) for m, n in zip(shapes, names, strict=True)]
    along, across, shear = scene.losses
    parts = np.array([along, _COUPLING_LOSS, across, shear])
    loss = np.array([float(np.dot(mode.shares, parts)) for mode in shapes])
    off = dice.normal(0, scene.detuning, len(hz))
    return _Ringing(tuple(shapes), tuple(names), np.array(hz) * (1 + off), loss)


def _name(mode: RitzMode, named: dict[Name, RitzMode]) -> Name | Literal["other"]:
    same = (n for n in NAMES if named[n].symmetry == mode.symmetry and abs(named[n].hz / mode.hz - 1) < 1e-9)
    return next(same, "other")


def _tap(scene: TapScene, ringing: _Ringing, dice: np.random.Generator) -> tuple[Array, Array, Array]:
    """One tap: sound, loss and level of each mode."""
    how, rate = scene.tapping, scene.phone.rate
    spot = tuple(np.clip(np.array(how.at) + dice.normal(0, 0.01, 2), 0.01, 0.99))
    fingers = how.fingers * np.exp(how.varies * dice.normal())
    strength = np.exp(2 * how.varies * dice.normal())
    pulse_s = how.pulse_s * np.exp(how.varies * dice.normal())
    held, hit, heard = (
        np.array([mode.at(*place) for mode in ringing.shapes]) for place in (how.held, spot, how.heard)
    )
    loss = ringing.wood_loss + fingers * held**2
    # response of a mode to a blow, as acceleration: shape at the blow times shape at the ear times 2 pi f
    omega = 2 * np.pi * ringing.hz
    level = strength * hit * heard * omega / omega.min()
    t = np.arange(int(3.0 * rate)) / rate
    ring = np.zeros(len(t))
    for w, a, one in zip(omega, level, loss, strict=True):
        if w < 0.9 * np.pi * rate:
            ring += a * np.exp(-w / 2 * one * t) * np.sin(w * t)
    pulse = np.sin(np.pi * np.arange(int(pulse_s * rate)) / (pulse_s * rate)) ** 2
    pulse /= pulse.sum()
    shown = np.abs(level) * np.abs(
        [np.sum(pulse * np.exp(-1j * w * np.arange(len(pulse)) / rate)) for w in omega]
    )
    click = np.zeros(int(0.004 * rate))
    click += dice.normal(0, 0.5 * np.abs(ring).max(), len(click)) * np.hanning(len(click))
    sound = fftconvolve(ring, pulse)[: len(t)]
    sound[: len(click)] += sosfilt(butter(2, 300, "highpass", fs=rate, output="sos"), click)
    return sound, loss, np.asarray(shown)


def _in_room(scene: TapScene, samples: Array, at_s: Array, dice: np.random.Generator) -> Array:
    """The same with reverb, noise, hum, through the phone."""
    room, phone, n = scene.room, scene.phone, len(samples)
    rate = phone.rate
    low = butter(2, phone.low_hz, "highpass", fs=rate, output="sos")
    sound = samples
    if room.reverb_db is not None:
        tail = dice.normal(0, 1, int(room.reverb_s * rate))
        # 60 dB in reverb_s: amplitude falls by exp(-6.9 t / reverb_s)
        tail *= np.exp(-6.9 * np.arange(len(tail)) / len(tail))
        tail *= 10 ** (room.reverb_db / 20) / np.sqrt(np.sum(tail**2))
        late = np.concatenate((np.zeros(int(0.006 * rate)), tail))
        sound = samples + fftconvolve(samples, late)[:n]
    sound = sosfilt(low, sound)
    half = rate // 2
    rms = np.sqrt(np.mean([np.mean(sound[int(a * rate) : int(a * rate) + half] ** 2) for a in at_s]))
    sound = sound + rms * (_noise(room, low, n, rate, dice) + _steady(room, n, rate, dice))
    return np.asarray(sound * phone.peak / np.abs(sound).max())


def _noise(room: Room, low: Array, n: int, rate: int, dice: np.random.Generator) -> Array:
    """Room noise: half its power even, half falling as 1/f, through the phone."""
    spectrum = np.fft.rfft(dice.normal(0, 1, n))
    hz = np.fft.rfftfreq(n, 1 / rate)
    pink = np.fft.irfft(spectrum / np.sqrt(np.maximum(hz, 20.0)), n)
    white = dice.normal(0, 1, n)
    both = sosfilt(low, pink / pink.std() + white)
    return np.asarray(both / both.std() * 10 ** (room.noise_db / 20))


def _steady(room: Room, n: int, rate: int, dice: np.random.Generator) -> Array:
    """Mains hum with harmonics, and a fan's tone that wanders a little."""
    t = np.arange(n) / rate
    out = np.zeros(n)
    if room.hum_db is not None:
        for k, below in ((1, 4.0), (2, 0.0), (3, 6.0), (4, 10.0), (6, 14.0)):
            size = 2**0.5 * 10 ** ((room.hum_db - below) / 20)
            out += size * np.sin(2 * np.pi * k * room.mains_hz * t + dice.uniform(0, 2 * np.pi))
    if room.tone is not None:
        hz, db = room.tone
        wander = 0.0003 * np.sin(2 * np.pi * 0.3 * t + dice.uniform(0, 6))
        out += 2**0.5 * 10 ** (db / 20) * np.sin(2 * np.pi * np.cumsum(hz * (1 + wander)) / rate)
    return out


def moved_air(scene: TapScene, air_kg_m3: float) -> TapScene:
    """The same in other air."""
    return replace(scene, air_kg_m3=air_kg_m3)
