"""Sound written to files as phones and recorders write them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from numpy.typing import NDArray

# Encoder, format of its samples, and rate where it has but one, by ending
_ENCODERS: dict[str, tuple[str, str, int | None]] = {
    ".wav": ("pcm_s16le", "s16", None),
    ".flac": ("flac", "s16", None),
    ".mp3": ("libmp3lame", "fltp", None),
    ".ogg": ("libopus", "flt", 48000),
    ".m4a": ("aac", "fltp", None),
    ".webm": ("libopus", "flt", 48000),
}


def write_sound(path: Path, samples: NDArray[np.float64], rate: int, bit_rate: int = 128_000) -> Path:
    """Write (n,) or (channels, n) samples of full scale 1; the ending says how.

    What is above full scale is cut off, as a recorder does.
    """
    encoder, form, only = _ENCODERS[path.suffix]
    sound = np.atleast_2d(np.clip(samples, -1.0, 1.0)).astype(np.float32)
    layout = "mono" if len(sound) == 1 else "stereo"
    with av.open(str(path), "w") as container:
        stream = container.add_stream(encoder, rate=only or rate)
        assert isinstance(stream, AudioStream)
        stream.layout = layout
        stream.format = form
        if encoder not in ("pcm_s16le", "flac"):
            stream.bit_rate = bit_rate
        resampler = av.AudioResampler(format=form, layout=layout, rate=only or rate, frame_size=1024)
        for first in range(0, sound.shape[1], 65536):
            part = np.ascontiguousarray(sound[:, first : first + 65536])
            frame = av.AudioFrame.from_ndarray(part, format="fltp", layout=layout)
            frame.sample_rate, frame.pts, frame.time_base = rate, first, Fraction(1, rate)
            for ready in resampler.resample(frame):
                container.mux(stream.encode(ready))
        for ready in resampler.resample(None):
            container.mux(stream.encode(ready))
        container.mux(stream.encode(None))
    return path
