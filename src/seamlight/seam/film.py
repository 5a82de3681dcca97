"""Frames of a short phone film."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo import Picture

SUFFIXES = (".mp4", ".mov", ".m4v")
MOST_FRAMES = 16
_LONGEST_S = 60.0


def is_film(path: Path) -> bool:
    """Whether a file's name is a film's."""
    return path.suffix.lower() in SUFFIXES


def frames_of(path: Path, most: int = MOST_FRAMES) -> list[Picture]:
    """Up to so many frames, evenly through a film (MP4 or MOV), upright.

    Raises:
        Mistake: the file is missing, no film, or longer than a minute.
    """
    if not path.is_file():
        raise Mistake("cannot be read (no such file)", where=str(path), do="name a film")
    try:
        with av.open(str(path)) as film:
            if not film.streams.video:
                raise Mistake("holds no pictures", where=path.name, do="give a film of the joint")
            stream = film.streams.video[0]
            if film.duration is not None and film.duration / 1e6 > _LONGEST_S:
                raise Mistake(
                    f"the film is {film.duration / 1e6:.0f} s long", where=path.name, do="a few seconds do"
                )
            stream.thread_type = "AUTO"
            every = max(1.0, (stream.frames or 0) / most)
            kept: list[Picture] = []
            for i, frame in enumerate(film.decode(stream)):
                if i < every * len(kept):
                    continue
                kept.append(Picture(_upright(frame), name=f"{path.name}, frame {i + 1}"))
                if len(kept) >= 4 * most:  # a stream that does not say how long it is
                    kept, every = kept[::2], every * 2
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise Mistake("is no film this program can open", where=path.name, do="give an MP4 or MOV") from error
    if not kept:
        raise Mistake("the film is empty", where=path.name, do="take it again")
    return kept[:: max(1, round(len(kept) / most))][:most]


def _upright(frame: av.VideoFrame) -> NDArray[np.uint8]:
    """(h, w, 3) the frame as the phone was held."""
    rgb = frame.to_ndarray(format="rgb24")
    quarter = round(getattr(frame, "rotation", 0) / 90) % 4
    return np.ascontiguousarray(np.rot90(rgb, quarter))
