"""The fixed table of tapped plates on which the reader of taps is judged; it was tuned on other seeds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from seamlight.demo.taps import Phone, Room, Tapping, TapScene
from seamlight.plate.piece import Piece
from seamlight.plate.stiffness import Elastic

FIRST_SEED = 101  # 1 to 99 are for tuning

# Tap in a corner's reach and hold near a still line of the bending along: all three modes are heard
_LEAF = Tapping(at=(0.06, 0.94), held=(0.224, 1.0), heard=(0.95, 0.08))
_BY_THE_EDGE = Tapping(at=(0.36, 0.95), held=(0.224, 1.0), heard=(0.08, 0.1))
_THUMB = replace(_LEAF, pulse_s=0.010)  # a large plate is tapped with the thumb's pad
_TWO_FINGERS = replace(_LEAF, fingers=0.006, varies=0.25)


@dataclass(frozen=True)
class TapCase:
    """One recording: a plate, how it was tapped and recorded, and into what file."""

    name: str
    seed: int
    scene: TapScene
    suffix: str = ".wav"
    hard: bool = False  # reported apart: beyond what the tolerance is stated for


def leaf_of(seed: int) -> tuple[Piece, Elastic]:
    """A leaf of an invented spruce."""
    dice = np.random.default_rng([seed, 17])
    size = dice.uniform((495, 190, 3.0), (560, 215, 4.2)).round(1)
    return _board(dice, size[0], size[1], size[2])


def top_of(seed: int) -> tuple[Piece, Elastic]:
    """A joined top of the same."""
    dice = np.random.default_rng([seed, 18])
    size = dice.uniform((510, 390, 2.6), (560, 425, 3.4)).round(1)
    return _board(dice, size[0], size[1], size[2])


def _board(dice: np.random.Generator, length: float, width: float, thick: float) -> tuple[Piece, Elastic]:
    density = dice.uniform(380, 455)
    along = density * dice.uniform(4900, 5700) ** 2 * 1e-6
    across, shear = along * dice.uniform(0.055, 0.095), along * dice.uniform(0.055, 0.08)
    weight = round(density * length * width * thick * 1e-6, 1)
    piece = Piece(float(length), float(width), float(width), float(thick), float(weight))
    return piece, Elastic(
        float(along), float(across), float(shear), 0.37, float(0.95 * shear), float(along / 330)
    )


def _case(
    name: str,
    seed: int,
    *,
    joined: bool = False,
    room: Room | None = None,
    phone: Phone | None = None,
    tapping: Tapping = _LEAF,
    suffix: str = ".wav",
    hard: bool = False,
) -> TapCase:
    piece, elastic = (top_of if joined else leaf_of)(seed)
    scene = TapScene(piece, elastic, room or Room(), phone or Phone(), tapping)
    return TapCase(name, seed, scene, suffix, hard)


def cases(first: int) -> tuple[TapCase, ...]:
    """The table from a first seed on."""
    quiet = Room(hum_db=None, reverb_db=None)
    return (
        _case("leaf, noise alone", first, room=quiet),
        _case("leaf, hum of 50 Hz, close microphone", first + 1),
        _case("leaf, hum of 60 Hz", first + 2, room=Room(mains_hz=59.98, hum_db=-12)),
        _case("leaf, phone's M4A", first + 3, suffix=".m4a", phone=Phone(48000, 80)),
        _case("leaf, MP3", first + 4, suffix=".mp3"),
        _case("leaf, tapped at a long edge", first + 5, tapping=_BY_THE_EDGE),
        _case("leaf, a fan's tone", first + 6, room=Room(tone=(87.3, -12))),
        # its quality differs by a fifth from tap to tap: no mean of six is within 5 % of another
        _case("leaf, two fingers that vary", first + 7, tapping=_TWO_FINGERS, hard=True),
        _case("joined top", first + 8, joined=True, tapping=_THUMB, phone=Phone(low_hz=30)),
        _case("joined top, noise alone", first + 9, joined=True, tapping=_THUMB, room=quiet,
              phone=Phone(low_hz=20)),
        _case("leaf, FLAC at 96 kHz", first + 10, suffix=".flac", phone=Phone(96000)),
        _case("leaf, 8 kHz", first + 11, phone=Phone(8000)),
        _case("leaf, noisy shop, 10 dB", first + 12, room=Room(noise_db=-10), hard=True),
        _case("leaf, microphone at arm's length", first + 16, room=Room(reverb_db=-30), hard=True),
        _case("leaf, microphone a metre off", first + 17, room=Room(reverb_db=-20), hard=True),
        _case("leaf, live room", first + 13, room=Room(reverb_db=-8, reverb_s=0.7), hard=True),
        _case("leaf, hum as loud as the taps", first + 14, room=Room(hum_db=0), hard=True),
        _case("joined top, phone that hears little below 100 Hz", first + 15, joined=True,
              tapping=_THUMB,              phone=Phone(48000, 100), suffix=".m4a", hard=True),
    )  # fmt: skip


CASES = cases(FIRST_SEED)
