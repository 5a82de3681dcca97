"""Partials of many taps brought together: one peak a partial, with how it scatters from tap to tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.plate.peaks import Peak, PeakKind

Array = NDArray[np.float64]

WOOD_Q, STEADY_Q = 350.0, 700.0  # the driest rosewood loses 0.003: Q 330 (from memory)
_STEADY_RATIO = 0.5
_SKIRT_WIDTHS, _SKIRT_DB, _NEAR, _FAR_DB = 3.0, 16.0, 0.25, 36.0


@dataclass(frozen=True, eq=False)
class Heard:
    """One partial over all taps; (t,) each, nan where a tap did not show it.

    Attributes:
        hz, decay_s: frequency and decay rate, 1/s.
        hz_sd, decay_sd: what noise alone makes of them.
        level: amplitude at the tap.
        before: amplitude just before the tap over that at it; nan where unknown.
        shared: frequency and decay rate that all taps share, where they were fitted at once.
    """

    hz: Array
    decay_s: Array
    hz_sd: Array
    decay_sd: Array
    level: Array
    before: Array
    shared: tuple[float, float] | None = None


def weighted(values: Array, noise_sd: Array) -> tuple[float, float]:
    """Mean and standard deviation over taps, of values that differ by noise and by the way they were tapped.

    Values more than four robust deviations off are let go.
    """
    known = np.isfinite(values) & np.isfinite(noise_sd)
    x, sd = values[known], noise_sd[known]
    if not len(x):
        return float("nan"), 0.0
    middle = float(np.median(x))
    off = np.abs(x - middle)
    spread = 1.4826 * float(np.median(off))
    keep = off <= 4 * max(spread, float(np.median(sd)), 1e-12)
    x, sd = x[keep], sd[keep]
    weight = 1 / (sd**2 + _between(x, sd) + 1e-18)
    mean = float((weight * x).sum() / weight.sum())
    if len(x) < 2:
        return mean, float(sd[0])
    return mean, float(((weight * (x - mean) ** 2).sum() / weight.sum() * len(x) / (len(x) - 1)) ** 0.5)


def _between(x: Array, sd: Array) -> float:
    """Variance by which taps differ beyond their noise."""
    # R. DerSimonian, N. Laird, Controlled Clinical Trials 7 (1986) 177
    weight = 1 / np.maximum(sd, 1e-9) ** 2
    mean = float((weight * x).sum() / weight.sum())
    room = float(weight.sum() - (weight**2).sum() / weight.sum())
    return max(0.0, (float((weight * (x - mean) ** 2).sum()) - (len(x) - 1)) / room) if room > 0 else 0.0


def differ(one: Heard) -> float:
    """How many times more the taps' decay rates differ than noise makes them; 1 where by noise alone."""
    known = np.isfinite(one.decay_s) & (one.decay_sd > 0)
    x, weight = one.decay_s[known], 1 / one.decay_sd[known] ** 2
    if len(x) < 4:
        return 1.0
    mean = (weight * x).sum() / weight.sum()
    return float((weight * (x - mean) ** 2).sum() / (len(x) - 1))


def peak_of(heard: Heard, level_db: float, kind: PeakKind, level_at_db: tuple[float, ...] = ()) -> Peak:
    """The averaged peak."""
    hz, hz_sd = weighted(heard.hz, heard.hz_sd)
    decay, decay_sd = weighted(heard.decay_s, heard.decay_sd)
    if heard.shared is not None:
        hz, decay = heard.shared
    q, q_sd = None, 0.0
    if kind == "wood" and decay > 0:
        # a damped partial of decay rate a: Q = pi f / a
        q = np.pi * hz / decay
        q_sd = q * decay_sd / decay
    return Peak(hz, level_db, q, hz_sd, q_sd, kind, level_at_db)


def tap_gains(levels_db: Array) -> Array:
    """(t,) how hard each tap was, dB, from levels of (t, p) partials; nan where unheard."""
    gains = np.zeros(len(levels_db))
    for _ in range(3):  # median polish, J. W. Tukey (1977)
        typical = _median(levels_db - gains[:, None], axis=0)
        gains = np.nan_to_num(_median(levels_db - typical, axis=1))
    return gains


def _median(values: Array, axis: int) -> Array:
    known = np.isfinite(values).any(axis=axis)
    safe = np.where(np.isfinite(values), values, np.nan)
    out = np.full(known.shape, np.nan)
    if known.any():
        rows = safe[known] if axis == 1 else safe[:, known]
        out[known] = np.nanmedian(rows, axis=axis)
    return out


def mains_hz(lines: Sequence[tuple[float, float]]) -> float | None:
    """50 or 60 (as it really is) where steady lines lie on its harmonics; lines: hz, level.

    The grid holds its frequency within 0.4 % (ENTSO-E and NERC practice, from memory); a recorder's clock
    within less.
    """
    best: tuple[float, float] | None = None
    for nominal in (50.0, 60.0):
        on = [(hz / max(round(hz / nominal), 1), level) for hz, level in lines if on_mains(hz, nominal)]
        score = sum(level for _, level in on)
        if on and (best is None or score > best[1]):
            best = (float(np.average([hz for hz, _ in on], weights=[level for _, level in on])), score)
    return None if best is None else best[0]


def on_mains(hz: float, mains: float, within: float = 0.004) -> bool:
    """Whether a frequency is a harmonic of the mains, up to the thirtieth."""
    k = round(hz / mains)
    return 1 <= k <= 30 and abs(hz / (k * mains) - 1) <= within


def is_steady(one: Heard) -> bool:
    """Whether it sounded as loud before the taps as after them."""
    hz, decay = weighted(one.hz, one.hz_sd)[0], weighted(one.decay_s, one.decay_sd)[0]
    if decay > 0 and np.pi * hz / decay < WOOD_Q:
        return False
    known = one.before[np.isfinite(one.before)]
    if len(known):
        return float(np.median(known)) > _STEADY_RATIO
    return (decay <= 0 or np.pi * hz / decay > STEADY_Q) and (on_mains(hz, 50) or on_mains(hz, 60))


def unique(heard: Sequence[Heard]) -> list[Heard]:
    """One of each partial that two octaves share at their border: the better told."""
    kept: list[Heard] = []
    for one in heard:
        if kept:
            (a, sd_a), (b, sd_b) = weighted(kept[-1].hz, kept[-1].hz_sd), weighted(one.hz, one.hz_sd)
            alike = is_steady(one) == is_steady(kept[-1])
            if alike and abs(b / a - 1) < max(0.001, 2 * (sd_a + sd_b) / a) and abs(b / a - 1) < 0.01:
                if np.nanmedian(one.hz_sd) < np.nanmedian(kept[-1].hz_sd):
                    kept[-1] = one
                continue
        kept.append(one)
    return kept


def alone(heard: Sequence[Heard]) -> list[Heard]:
    """Without the faint ones in the skirts of a strong partial that fades unevenly, as a held ring may."""
    hz = np.array([weighted(one.hz, one.hz_sd)[0] for one in heard])
    decay = np.array([weighted(one.decay_s, one.decay_sd)[0] for one in heard])
    level = np.array([float(np.nanmedian(one.level)) for one in heard])
    steady = np.array([is_steady(one) for one in heard])
    energy_db = 20 * np.log10(level) - 10 * np.log10(np.maximum(decay, 0.3))
    kept = []
    for k, one in enumerate(heard):
        widths = np.abs(hz - hz[k]) / (np.maximum(decay + decay[k], 0.6) / (2 * np.pi))
        below = energy_db - energy_db[k]
        skirt = (widths < _SKIRT_WIDTHS) & (below > _SKIRT_DB)
        far = (np.abs(hz / hz[k] - 1) < _NEAR) & (below > _FAR_DB)
        if steady[k] or not ((skirt | far) & ~steady).any():
            kept.append(one)
    return kept
