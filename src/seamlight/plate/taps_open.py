"""Recordings opened, and the taps in them found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from scipy.signal import resample_poly

from seamlight.mistake import Mistake
from seamlight.plate.taps_bands import Sound, at_base_rate, pyramid
from seamlight.plate.taps_decode import Recording, decode
from seamlight.plate.taps_find import TapCut, find_taps

_TAP_AGAIN = "tap again, a second apart, in a quiet room, nothing else ringing"


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
        raise Mistake(_nothing(taps), where=names(taps), do=_TAP_AGAIN)
    return taps


def _at_rate(sound: Sound, own: float, rate: float) -> Sound:
    """A sound at the first recording's rate."""
    if own == rate:
        return sound
    ratio = Fraction(round(rate), round(own))
    return np.asarray(resample_poly(sound, ratio.numerator, ratio.denominator), dtype=np.float32)


def _nothing(taps: Taps) -> str:
    if not taps.cuts:
        if max(float(np.abs(one.samples).max(initial=0.0)) for one in taps.recordings) < 1e-4:
            return "there is only silence"
        return "no tap was found"
    return "no good tap: " + counted(taps.cuts)


def names(taps: Taps) -> str:
    return ", ".join(one.name for one in taps.recordings)


def counted(cuts: Sequence[TapCut]) -> str:
    counts = Counter(cut.left_out for cut in cuts if cut.left_out)
    return ", ".join(f"{count} {reason}" for reason, count in counts.items())
