"""Damped partials of one octave: a subspace common to all taps, then a fit of each tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cholesky, eigh, solve_triangular, toeplitz

from seamlight.plate.taps_bands import Complex, noise_correlation

_MOST_LAGS, _LEAST_LAGS = 90, 8
_MOST_PARTIALS = 24
_LOADING = 2e-3  # of white noise, where the filter lets none through
_LONGEST_STEP = 0.05
_ENOUGH = 1e-5  # less gained is a tenth of what noise does to a pole
_NO_RING_IS_PURER = 1e-5  # of the strongest partial: what fades a little unevenly is not another partial
_EVENED = 0.75  # power of their size by which taps are brought nearer to each other
_OVER_NOISE = 3.0  # times the edge of the noise's own spread of eigenvalues


@dataclass(frozen=True, eq=False)
class Fit:
    """Partials of one tap.

    Attributes:
        log_poles: (p,) of the slow signal.
        amplitudes: (p,) at its first sample.
        variances: (p,) of each log pole, both parts together.
        noise: mean square of what is left.
        left: sum of squares of what the partials do not make up.
    """

    log_poles: Complex
    amplitudes: Complex
    variances: NDArray[np.float64]
    noise: float
    left: float


def common_poles(taps: Sequence[Complex]) -> Complex:
    """Log poles that the taps of one octave share, with an estimate of how many there are.

    Args:
        taps: slow signals of any lengths.
    """
    lengths = np.array([len(y) for y in taps])
    lags = min(_MOST_LAGS, int(0.45 * np.median(lengths))) if len(taps) else 0
    used = [y for y in taps if len(y) >= 1.5 * lags]
    if lags < _LEAST_LAGS or not used:
        return np.zeros(0, dtype=np.complex128)
    covariance = np.zeros((lags, lags), dtype=np.complex128)
    columns = 0
    for y in used:
        # a loud sound that is no tap must not have its own way
        size = float(np.vdot(y, y).real / len(y)) ** (_EVENED / 2)
        hankel = np.lib.stride_tricks.sliding_window_view(y / max(size, 1e-12), lags)
        covariance += hankel.T @ hankel.conj()
        columns += len(hankel)
    covariance /= columns
    noise = noise_correlation(lags)
    colour = toeplitz(noise, noise.conj()) + _LOADING * np.eye(lags)
    root = cholesky(colour, lower=True)
    half = solve_triangular(root, covariance, lower=True)
    white = solve_triangular(root, half.conj().T, lower=True)
    values, vectors = eigh((white + white.conj().T) / 2)
    count = _order(values, columns)
    if count == 0:
        return np.zeros(0, dtype=np.complex128)
    # R. Roy, T. Kailath, ESPRIT, IEEE Trans. ASSP 37 (1989) 984: shifting the signal subspace by one
    # sample turns it by the poles
    space = root @ vectors[:, -count:]
    turn = np.linalg.lstsq(space[:-1], space[1:], rcond=None)[0]
    poles = np.linalg.eigvals(turn)
    poles = poles[np.abs(poles) > 1e-3]
    return np.asarray(np.log(poles), dtype=np.complex128)


def _order(values: NDArray[np.float64], columns: int) -> int:
    """How many eigenvalues stand out of noise."""
    noise = max(float(np.median(values[: max(len(values) // 2, 1)])), _NO_RING_IS_PURER * float(values[-1]))
    # V. A. Marchenko, L. A. Pastur (1967): eigenvalues of noise end at (1 + sqrt(rows / columns))^2
    edge = (1 + (len(values) / columns) ** 0.5) ** 2
    count = int(np.count_nonzero(values > _OVER_NOISE * edge * max(noise, 1e-30)))
    return min(count, _MOST_PARTIALS, len(values) // 3)


def merged(taps: Sequence[Complex], poles: Complex, held: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(p,) which poles to keep: of two within one resonance's width, both only if the taps need both.

    Damping by hand differs from tap to tap, which looks like a second pole beside the first.
    """
    keep = np.ones(len(poles), dtype=np.bool_)
    close = [
        (abs(poles[i] - poles[j]) / width, i, j)
        for i in range(len(poles))
        for j in range(i + 1, len(poles))
        if not (held[i] or held[j]) and (width := -(poles[i].real + poles[j].real) / 2) > 0
    ]
    for apart, i, j in sorted(close):
        if apart > 1.0:
            break
        if not (keep[i] and keep[j]):
            continue
        without = keep.copy()
        without[j] = False
        one = poles.copy()
        one[i] = (poles[i] + poles[j]) / 2
        both_left, one_left = (
            sum(_left_over(y, p[k], held[k]) for y in taps) for p, k in ((poles, keep), (one, without))
        )
        longest = max(len(y) for y in taps)
        # G. Schwarz, Ann. Statist. 6 (1978) 461: four numbers a tap must pay for themselves
        if one_left < both_left * np.exp(2 * np.log(2 * longest * len(taps)) / longest):
            keep, poles[i] = without, one[i]
    return keep


def _left_over(y: Complex, poles: Complex, held: NDArray[np.bool_]) -> float:
    found = fit(y, poles, held, rounds=4)
    return 0.0 if found is None else found.left


def strange(y: Complex, poles: Complex) -> float:
    """Sum of squares of what poles common to all taps do not make up in one."""
    if not len(y):
        return 0.0
    amplitudes, shapes = _amplitudes(y, poles)
    left = y - shapes @ amplitudes
    return float(np.vdot(left, left).real)


def fit(y: Complex, start: Complex, held: NDArray[np.bool_], rounds: int = 6) -> Fit | None:
    """Least squares of damped partials to one tap, from poles near the true ones.

    Args:
        y: (n,) slow signal.
        start: (p,) log poles.
        held: (p,) poles that stay where they are (steady tones).
    """
    count = len(start)
    if count == 0 or len(y) < 2 * count + 4:
        return None
    n = np.arange(len(y))
    poles = start.copy()
    free = ~held
    amplitudes, shapes = _amplitudes(y, poles)
    left = y - shapes @ amplitudes
    for _ in range(rounds):
        # the model is analytic in log poles and amplitudes: Gauss-Newton in complex numbers
        slopes = (n[:, None] * shapes * amplitudes)[:, free]
        step = _least(np.hstack((shapes, slopes)), left)[count:]
        step *= np.minimum(1.0, _LONGEST_STEP / np.maximum(np.abs(step), 1e-12))
        better, before = False, float(np.vdot(left, left).real)
        for shorter in (1.0, 0.4, 0.1):
            moved = poles.copy()
            moved[free] += shorter * step
            moved.real = np.clip(moved.real, -1.5, 0.002)
            trial = _amplitudes(y, moved)
            trial_left = y - trial[1] @ trial[0]
            better = float(np.vdot(trial_left, trial_left).real) < before
            if better:
                poles, (amplitudes, shapes), left = moved, trial, trial_left
                break
        if not better or np.vdot(left, left).real > (1 - _ENOUGH) * before:
            break
    return _with_spreads(y, poles, amplitudes, shapes, left, n)


def powers(log_poles: Complex, count: int) -> Complex:
    """(count, p) of each pole: 0, 1, 2, ...; by products, a tenth of the time of as many exponentials."""
    steps = int(np.ceil(count**0.5))
    coarse = np.exp(np.outer(np.arange(-(-count // steps)) * steps, log_poles))
    fine = np.exp(np.outer(np.arange(steps), log_poles))
    return np.asarray((coarse[:, None] * fine).reshape(-1, len(log_poles))[:count])


def _amplitudes(y: Complex, poles: Complex) -> tuple[Complex, Complex]:
    shapes = powers(poles, len(y))
    return _least(shapes, y), shapes


def _least(columns: Complex, y: Complex) -> Complex:
    """Least squares by normal equations of columns of unit size: a tenth of a decomposition's time."""
    size = np.sqrt(np.maximum(np.einsum("ij,ij->j", columns.conj(), columns).real, 1e-300))
    unit = columns / size
    square = unit.conj().T @ unit
    square.flat[:: len(square) + 1] += 1e-10
    return np.asarray(np.linalg.solve(square, unit.conj().T @ y) / size)


def _with_spreads(
    y: Complex, poles: Complex, amplitudes: Complex, shapes: Complex, left: Complex, n: NDArray[np.intp]
) -> Fit:
    count = len(poles)
    noise = float(np.vdot(left, left).real / max(len(y) - 2 * count, 1))
    slopes = n[:, None] * shapes * amplitudes
    both = np.hstack((shapes, slopes))
    try:
        inverse = np.linalg.inv(both.conj().T @ both + 1e-12 * np.eye(2 * count))
        variances = noise * np.abs(np.diag(inverse).real[count:])
    except LinAlgError:
        variances = np.full(count, np.inf)
    return Fit(poles, amplitudes, np.asarray(variances), noise, float(np.vdot(left, left).real))
