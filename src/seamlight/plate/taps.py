"""From recordings of taps to peaks: decoded, cut apart, each ring fitted, all averaged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.plate.peaks import Peak, PeakKind, Place, TapReading
from seamlight.plate.taps_average import (
    alone,
    is_steady,
    mains_hz,
    on_mains,
    peak_of,
    tap_gains,
    unique,
    weighted,
)
from seamlight.plate.taps_bands import octaves
from seamlight.plate.taps_find import NO_TAP, TapCut
from seamlight.plate.taps_octave import Band, read_octave
from seamlight.plate.taps_open import Taps, counted, names, open_taps
from seamlight.plate.taps_together import together

__all__ = ["TapCut", "Taps", "open_taps", "read_cuts", "read_taps", "reading_of"]

_VOICE_HZ = (80.0, 1000.0)
# Part of a sound's energy that the others' partials do not make up; that energy beside the others'
_MORE_OF_ITS_OWN, _STRANGER, _FAR_STRANGER = 0.1, 2.5, 10.0
_WITHIN_DB = 50.0
_MOST_WOOD = 12  # the modes that matter are among the lowest
_MOST_STEADY = 12

Flags = NDArray[np.bool_]


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


def reading_of(taps: Taps, places: tuple[Place, ...] = ()) -> tuple[TapReading, tuple[TapCut, ...]]:
    """Peaks of the good taps, and all taps with what is wrong with each.

    Raises:
        Mistake: nothing rings in them.
    """
    bands = [read_octave(taps, octave) for octave in octaves(taps.levels[0])]
    odd = _odd(bands, len(taps.good))
    if odd.any():
        return reading_of(_without(taps, odd), places)
    heard = [one for band in bands for one in band.heard]
    heard.sort(key=lambda one: weighted(one.hz, one.hz_sd)[0])
    heard = together(taps, alone(unique(heard)))
    if not any(weighted(one.decay_s, one.decay_sd)[0] > 0 for one in heard):
        what = "only hum was heard" if heard else "nothing rings in it"
        bad = counted(taps.cuts)
        what += f"; left out: {bad}" if bad else ""
        raise Mistake(what, where=names(taps), do="hold the piece more lightly and tap nearer the microphone")
    levels = 20 * np.log10(np.array([one.level for one in heard]).T)
    levels -= tap_gains(levels)[:, None]
    typical = np.nanmedian(levels, axis=0)
    steady = [is_steady(one) for one in heard]
    lines = [(weighted(one.hz, one.hz_sd)[0], float(10 ** (typical[k] / 20))) for k, one in enumerate(heard)]
    mains = mains_hz([line for line, stays in zip(lines, steady, strict=True) if stays])
    kinds: list[PeakKind] = [
        "wood" if not stays else "hum" if mains and on_mains(hz, mains, 0.002) else "room"
        for (hz, _), stays in zip(lines, steady, strict=True)
    ]
    loudest = max((typical[k] for k, kind in enumerate(kinds) if kind == "wood"), default=max(typical))
    file_of = np.array([cut.file for cut in taps.good])
    peaks: list[Peak] = []
    for k, one in enumerate(heard):
        at = tuple(_mean(levels[file_of == file, k] - loudest) for file in range(len(places)))
        peaks.append(peak_of(one, float(typical[k] - loudest), kinds[k], at))
    return TapReading(_kept(peaks), len(taps.good), places, _warnings(taps)), taps.cuts


def _odd(bands: Sequence[Band], count: int) -> Flags:
    """(t,) taps that are no ring of the partials that the others share."""
    energy, left = np.zeros(count), np.zeros(count)
    for band in bands:
        if not _VOICE_HZ[0] <= band.octave.low_hz < _VOICE_HZ[1]:
            continue
        energy += band.energy
        left += band.strange
    own = left / np.maximum(energy, 1e-30)
    usual, most = np.median(own), np.median(left)
    odd = (own > usual + _MORE_OF_ITS_OWN * (1 - usual)) & (left > _STRANGER * most)
    far_louder = (own > 1.5 * usual) & (left > _FAR_STRANGER * most)
    return np.asarray((odd | far_louder) & (count > 2))


def _without(taps: Taps, odd: Flags) -> Taps:
    """The same with some of the good taps named as none."""
    which = {id(cut) for cut, bad in zip(taps.good, odd, strict=True) if bad}
    cuts = (replace(cut, left_out=NO_TAP) if id(cut) in which else cut for cut in taps.cuts)
    return replace(taps, cuts=tuple(cuts))


def _mean(values: NDArray[np.float64]) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


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
            lines.append(f"{one.name}: left out {counted(bad)} (at {at}{', ...' if len(bad) > 6 else ''})")
    if len(taps.good) < 3:
        lines.append(f"only {len(taps.good)} good tap{'s' if len(taps.good) > 1 else ''}: tap six times")
    return tuple(lines)
