"""A recording on disk to one channel of sound, with what must be said about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import av
import numpy as np
from av.error import FFmpegError
from numpy.typing import NDArray

from seamlight.mistake import Mistake

Sound = NDArray[np.float32]

MOST_S = 600.0
_LEAST_S = 0.2
_LEAST_RATE, _POOR_RATE = 4000, 11000
# Containers of sound only; playlists and the like, which name other files, are left out
_FORMATS = "wav,flac,mp3,ogg,mov,mp4,m4a,3gp,aac,matroska,webm,aiff,caf,w64"
# Of full scale: what a recorder cuts off, and what an encoder's ripple, which goes over it, makes of that
_FULL, _NEAR_FULL, _OVER = 0.9999, 0.97, 1.0005
_FEW = 3  # samples
_ONE_STEP = 1.5 / 32768
_TOGETHER = 100  # samples that may belong to one top
_DO = "give WAV, FLAC, M4A, MP3 or OGG"


@dataclass(frozen=True, eq=False)
class Recording:
    """One channel of sound.

    Attributes:
        name: of the file, for messages.
        rate: samples a second, as recorded.
        samples: (n,), full scale 1.
        clipped: (n,) where a channel stood at its ceiling.
        warnings: what must be said of it.
    """

    name: str
    rate: int
    samples: Sound
    clipped: NDArray[np.bool_]
    warnings: tuple[str, ...] = field(default=())

    @property
    def seconds(self) -> float:
        """Its length."""
        return len(self.samples) / self.rate


def decode(path: Path) -> Recording:
    """Read a recording of any common kind.

    Raises:
        Mistake: no such file, no sound in it, too long, or too few samples a second.
    """
    if not path.is_file():
        raise Mistake("no such file", where=str(path), do=_DO)
    warnings: list[str] = []
    try:
        with path.open("rb") as file, av.open(file, options={"format_whitelist": _FORMATS}) as container:
            if not container.streams.audio:
                raise Mistake("there is no sound in it", where=path.name, do=_DO)
            _check_length(path, container)
            rate = int(container.streams.audio[0].rate or 0)
            _check_rate(path, rate)
            channels = _channels(path, container, rate, warnings)
    except (FFmpegError, ValueError) as fault:
        raise Mistake("it is no recording that can be read", where=path.name, do=_DO) from fault
    if channels.shape[1] < _LEAST_S * rate:
        raise Mistake("there is hardly any sound in it", where=path.name, do="record the taps again")
    if rate < _POOR_RATE:
        warnings.append(
            f"{path.name}: recorded at {rate / 1000:g} kHz, as telephones do: nothing above"
            f" {0.45 * rate / 1000:.1f} kHz is in it; record at 44.1 or 48 kHz"
        )
    clipped = np.any([at_ceiling(one) for one in channels], axis=0)
    return Recording(path.name, rate, _one(channels, path.name, warnings), clipped, tuple(warnings))


def _check_length(path: Path, container: Any) -> None:
    """Refuse by what the file says of itself, before any of it is decoded."""
    seconds = (container.duration or 0) / 1e6
    if seconds > MOST_S:
        raise Mistake(
            f"it is {seconds / 60:.0f} minutes long", where=path.name, do="give the minute with the taps"
        )


def _check_rate(path: Path, rate: int) -> None:
    if rate < _LEAST_RATE:
        raise Mistake(f"recorded at {rate} Hz", where=path.name, do="record at 44.1 or 48 kHz")


def _channels(path: Path, container: Any, rate: int, warnings: list[str]) -> Sound:
    """(channels, n) of the first sound in the file, at one rate throughout."""
    parts: list[Sound] = []
    count = 0
    frames = _frames(container, rate)
    while True:
        try:
            part = next(frames, None)
        except FFmpegError:
            if not parts:
                raise
            warnings.append(f"{path.name}: broken off after {count / rate:.1f} s; read as far as it goes")
            break
        if part is None:
            break
        parts.append(part)
        count += part.shape[1]
        if count > MOST_S * rate:  # a stream that did not say how long it is
            raise Mistake(
                f"it is over {MOST_S / 60:.0f} minutes long", where=path.name, do="cut out the taps"
            )
    if not parts:
        raise Mistake("there is no sound in it", where=path.name, do=_DO)
    sound = np.concatenate(parts, axis=1)
    return np.nan_to_num(sound, copy=False)


def _frames(container: Any, rate: int) -> Iterator[Sound]:
    stream = container.streams.audio[0]
    stereo = (stream.channels or 1) > 1
    resampler = av.AudioResampler(format="fltp", layout="stereo" if stereo else "mono", rate=rate)
    for frame in container.decode(stream):
        for part in resampler.resample(frame):
            yield np.asarray(part.to_ndarray(), dtype=np.float32)
    for part in resampler.resample(None):
        yield np.asarray(part.to_ndarray(), dtype=np.float32)


def _one(channels: Sound, name: str, warnings: list[str]) -> Sound:
    """One channel of two, without losing what stands in opposite phase."""
    if len(channels) == 1:
        return np.asarray(channels[0])
    left, right = np.asarray(channels[0]), np.asarray(channels[1])
    power = [float(np.dot(one, one)) for one in (left, right)]
    louder: Sound = left if power[0] >= power[1] else right
    if min(power) < 1e-4 * max(power):
        return louder
    alike = float(np.dot(left, right)) / (power[0] * power[1]) ** 0.5
    if alike < -0.3:
        warnings.append(f"{name}: its two channels are in opposite phase and would cancel; one was read")
    # two microphones far apart hear each mode with its own phase: only near-equal channels are added
    return np.asarray((left + right) / 2, dtype=np.float32) if alike > 0.5 else louder


def at_ceiling(channel: Sound) -> NDArray[np.bool_]:
    """(n,) where a channel is cut off at its ceiling.

    A ringing plate meets its highest value once; a cut-off one stands at it, again and again.
    """
    size = np.abs(channel)
    top = float(size.max(initial=0.0))
    for near in (size >= _FULL, size >= _NEAR_FULL if top > _OVER else size > 2.0):
        if near.sum() >= _FEW:
            return np.asarray(near)
    # turned down after it was cut off: the same highest value far apart
    same = size >= top - _ONE_STEP
    places = np.flatnonzero(same)
    if top > 0.02 and len(places) >= 2 * _FEW and len(np.unique(places // _TOGETHER)) >= _FEW:
        return np.asarray(same)
    return np.zeros(len(channel), dtype=np.bool_)
