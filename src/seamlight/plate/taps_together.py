"""All taps fitted at once: partials that the taps share, each tap with amplitudes and phases of its own.

A tap by itself tells a dull partial's damping to some ten percent; six together tell it as well as their
noise allows, since what is not common to them is not fitted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from seamlight.plate.taps_average import Heard, differ, is_steady, weighted
from seamlight.plate.taps_bands import Sound
from seamlight.plate.taps_open import Taps
from seamlight.plate.taps_poles import powers

Array = NDArray[np.float64]

_MOST_WOOD = 12  # partials whose damping is sought, the lowest
_BLOW_S, _BLOW_PERIODS = 0.012, 0.15  # a large plate is struck by something softer
_SETTLES = 5  # samples that the pyramid's filters spread a blow over
_DECAYS, _LEAST_S, _MOST_S = 3.0, 0.4, 2.5
_SHORTER = 0.85  # rings are cut to lengths in such steps, so that many share one
_ROUNDS, _ENOUGH = 12, 1e-6  # the noise of one sample of many thousands
_LONGEST_STEP = 0.3  # of a decay rate
# Standard deviations of a tap, or part of a decay rate: moved further than both, it is another partial
_MOVED_SD, _MOVED_WIDTH = 3.0, 0.25
# Times the noise's own spread of decay rates: 3 comes once in a hundred by chance, 5 by fingers alone
_DIFFER, _DIFFER_MUCH = 3.0, 5.0
_LOADING = 1e-10
_STRETCH, _STRETCHES = 40, 10  # the shortest, samples, and how many, ever longer: what is left changes slowly


@dataclass(frozen=True, eq=False)
class _Rings:
    """Rings of one length: (n,) seconds from their start, (n, t) sound, weighted by (n, 1) of each moment."""

    at_s: Array
    sound: Array
    weight: Array


@dataclass(frozen=True, eq=False)
class _Tones:
    """(p,) partials: Hz, decay rates 1/s, and which of them stay as they are."""

    hz: Array
    decay_s: Array
    held: NDArray[np.bool_]

    def moved(self, by: Array) -> _Tones:
        """By (2 f,) steps of the free ones' decay rates, then of their angular frequencies."""
        free, count = ~self.held, len(by) // 2
        hz, decay = self.hz.copy(), self.decay_s.copy()
        decay[free] = np.maximum(decay[free] - by[:count], 1e-3)
        hz[free] += by[count:] / (2 * np.pi)
        return replace(self, hz=hz, decay_s=decay)


@dataclass(frozen=True, eq=False)
class _Solved:
    """Amplitudes of given tones: sum of squares left, and of each group its shapes, their Gram matrix, the
    amplitudes (p, t) and what is left (n, t)."""

    left: float
    parts: tuple[tuple[_Rings, NDArray[np.complex128], Array, Array, NDArray[np.complex128], Array], ...]


def together(taps: Taps, heard: Sequence[Heard]) -> list[Heard]:
    """The same partials with the frequency and decay rate that all taps share, where that is one.

    Args:
        heard: partials by rising frequency.
    """
    tones = _tones(heard)
    free = np.flatnonzero(~tones.held)
    if len(taps.good) < 2 or not len(free):
        return list(heard)
    rate_at_least = 2.5 * float(tones.hz[free].max())
    rings, rate = _rings(taps, tones, rate_at_least)
    inside = tones.hz < 0.5 * rate
    found = _fitted(rings, _Tones(tones.hz[inside], tones.decay_s[inside], tones.held[inside]))
    found = _fitted(_counted(rings, found), found)
    out = list(heard)
    for k in free:
        out[k] = _agreed(out[k], float(found.hz[k]), float(found.decay_s[k]))
    return out


def _tones(heard: Sequence[Heard]) -> _Tones:
    hz = np.array([weighted(one.hz, one.hz_sd)[0] for one in heard])
    decay = np.array([weighted(one.decay_s, one.decay_sd)[0] for one in heard])
    steady = np.array([is_steady(one) for one in heard], dtype=np.bool_) | (decay <= 0)
    wood = np.flatnonzero(~steady)[:_MOST_WOOD]
    held = np.ones(len(heard), dtype=np.bool_)
    held[wood] = False
    return _Tones(hz, np.where(steady, 0.0, decay), held)


def _agreed(one: Heard, hz: float, decay_s: float) -> Heard:
    """With the shared figures, unless the taps differ so much that there are none.

    The frequency is the mean of both ways by how sure each is, since their errors have little in common; the
    taps' own where they differ.
    """
    own_hz, hz_sd = weighted(one.hz, one.hz_sd)
    own_decay, decay_sd = weighted(one.decay_s, one.decay_sd)
    width = _MOVED_WIDTH * own_decay
    near = 2 * np.pi * abs(hz - own_hz) < max(2 * np.pi * _MOVED_SD * hz_sd, width) and (
        abs(decay_s - own_decay) < max(_MOVED_SD * decay_sd, width)
    )
    if not near or differ(one) > _DIFFER_MUCH:
        return one
    known = np.isfinite(one.hz)
    by_noise = 1 / float((1 / np.maximum(one.hz_sd[known], 1e-9) ** 2).sum())
    by_scatter = hz_sd**2 / int(known.sum())
    part = 1.0 if differ(one) > _DIFFER else by_noise / (by_noise + by_scatter)
    return replace(one, shared=(part * own_hz + (1 - part) * hz, decay_s))


def _rings(taps: Taps, tones: _Tones, rate_at_least: float) -> tuple[list[_Rings], float]:
    """The taps' rings at the slowest rate that holds the partials, grouped by length."""
    levels = taps.levels[0]
    level = next((k for k in range(len(levels) - 1, -1, -1) if levels[k][0] >= rate_at_least), 0)
    rate = levels[level][0]
    free = ~tones.held
    blow_s = _BLOW_S + _BLOW_PERIODS / float(tones.hz[free].min()) + _SETTLES / rate
    longest_s = float(np.clip(_DECAYS / tones.decay_s[free].min(), _LEAST_S, _MOST_S))
    by_length: dict[int, list[Sound]] = {}
    for cut in taps.good:
        sound = taps.levels[cut.file][level][1]
        first = int(np.ceil((cut.at_s + blow_s) * rate))
        last = min(int(cut.until_s * rate) - _SETTLES, first + int(longest_s * rate), len(sound))
        length = _step_down(last - first, int(longest_s * rate))
        if length > 4 * len(tones.hz):
            by_length.setdefault(length, []).append(sound[first : first + length])
    rings = [
        _Rings(np.arange(length) / rate, np.array(sounds, dtype=np.float64).T, np.ones((length, 1)))
        for length, sounds in by_length.items()
    ]
    return rings, rate


def _counted(rings: Sequence[_Rings], tones: _Tones) -> list[_Rings]:
    """The same, each moment by what the tones leave over in it: the blow and the room's own ring die soon."""
    longest = max((group.at_s for group in rings), key=len)
    power, count = np.zeros(len(longest)), np.zeros(len(longest))
    for *_, rest in _solve(rings, tones).parts:
        power[: len(rest)] += (rest**2).sum(axis=1)
        count[: len(rest)] += rest.shape[1]
    ends = _STRETCH * np.geomspace(1, 1 + len(longest) / _STRETCH, _STRETCHES) - _STRETCH
    edges = np.unique(np.append(ends[:-1].astype(np.intp), len(longest)))
    each = np.add.reduceat(power, edges[:-1]) / np.add.reduceat(count, edges[:-1])
    level = np.log(np.maximum(each, 1e-12 * float(each.max()) + 1e-300))
    left = np.exp(np.interp(np.arange(len(longest)), (edges[1:] + edges[:-1]) / 2, level))
    # least squares by 1/variance (A. C. Aitken, Proc. R. Soc. Edinburgh 55 (1936) 42, from memory)
    weight = (left.min() / left)[:, None] ** 0.5
    return [
        _Rings(group.at_s, group.sound * weight[: len(group.at_s)], weight[: len(group.at_s)])
        for group in rings
    ]


def _step_down(length: int, longest: int) -> int:
    """The greatest of longest, longest * 0.85, ... that is not over a length."""
    step = longest
    while step > max(length, 1):
        step = int(step * _SHORTER)
    return step


def _solve(rings: Sequence[_Rings], tones: _Tones) -> _Solved:
    """Least squares for the amplitudes."""
    left, parts, count = 0.0, [], len(tones.hz)
    for group in rings:
        log_poles = (-tones.decay_s + 2j * np.pi * tones.hz) * group.at_s[1]
        shapes = group.weight * powers(log_poles, len(group.at_s))
        columns = np.hstack((shapes.real, -shapes.imag))
        size = np.linalg.norm(columns, axis=0) + 1e-30
        columns = columns / size
        gram = columns.T @ columns
        gram.flat[:: len(gram) + 1] += _LOADING
        weights = np.linalg.solve(gram, columns.T @ group.sound)
        rest = group.sound - columns @ weights
        weights = weights / size[:, None]
        left += float(np.sum(rest**2))
        parts.append((group, shapes, columns, gram, weights[:count] + 1j * weights[count:], rest))
    return _Solved(left, tuple(parts))


def _fitted(rings: Sequence[_Rings], start: _Tones) -> _Tones:
    """Gauss-Newton on what the amplitudes leave over."""
    tones, solved = start, _solve(rings, start)
    free = np.flatnonzero(~start.held)
    for _ in range(_ROUNDS):
        step = _step(solved, free)
        most = _LONGEST_STEP * np.maximum(tones.decay_s[free], 0.5)
        size = np.maximum(np.hypot(step[: len(free)], step[len(free) :]), 1e-12)
        step *= np.tile(np.minimum(1.0, most / size), 2)
        before = solved.left
        for shorter in (1.0, 0.4, 0.1):
            trial = tones.moved(shorter * step)
            trial_solved = _solve(rings, trial)
            if trial_solved.left < before:
                tones, solved = trial, trial_solved
                break
        if before - solved.left < _ENOUGH * before:
            break
    return tones


def _step(solved: _Solved, free: NDArray[np.intp]) -> Array:
    """(2 f,) the step in decay rates (downward) and angular frequencies that all taps ask for together."""
    # G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, in L. Kaufman's form (1975), from memory:
    # amplitudes are eliminated, slopes stand at right angles to the shapes
    count = len(free)
    square, slope = np.zeros((2 * count, 2 * count)), np.zeros(2 * count)
    for group, shapes, columns, gram, amplitudes, rest in solved.parts:
        turned = group.at_s[:, None] * shapes[:, free]
        basis = np.hstack((turned.real, turned.imag))
        own = basis - columns @ np.linalg.solve(gram, columns.T @ basis)
        inner, pull = basis.T @ own, own.T @ rest
        real, imag = amplitudes[free].real, amplitudes[free].imag
        # a step x + iy of a log pole changes the sound by x (real D' - imag D'') - y (imag D' + real D'')
        by_x, by_y = np.vstack((real, -imag)), np.vstack((-imag, -real))
        square += np.block(
            [
                [_folded(inner, by_x, by_x), _folded(inner, by_x, by_y)],
                [_folded(inner, by_y, by_x), _folded(inner, by_y, by_y)],
            ]
        )
        slope += np.concatenate([_halves((one * pull).sum(axis=1)) for one in (by_x, by_y)])
    size = np.sqrt(np.maximum(np.diag(square), 1e-300))
    even = square / np.outer(size, size)
    even.flat[:: len(even) + 1] += 1e-9
    return np.asarray(np.linalg.solve(even, slope / size) / size)


def _folded(inner: Array, left: Array, right: Array) -> Array:
    """(f, f) from (2 f, 2 f): each pole's two shapes weighted by its own amplitudes, summed over taps."""
    whole, half = inner * (left @ right.T), len(inner) // 2
    return whole[:half, :half] + whole[:half, half:] + whole[half:, :half] + whole[half:, half:]


def _halves(values: Array) -> Array:
    half = len(values) // 2
    return values[:half] + values[half:]
