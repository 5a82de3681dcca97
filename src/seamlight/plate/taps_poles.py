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
_OVER_NOISE = 3.0  # times the edge of the noise's own spread of eigenvalues


@dataclass(frozen=True, eq=False)
class Fit:
    """Partials of one tap.

    Attributes:
        log_poles: (p,) of the slow signal.
        amplitudes: (p,) at its first sample.
        variances: (p,) of each log pole, both parts together.
        noise: mean square of what is left.
        explained: part of the stretch's energy that the partials make up.
    """

    log_poles: Complex
    amplitudes: Complex
    variances: NDArray[np.float64]
    noise: float
    explained: float


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
        hankel = np.lib.stride_tricks.sliding_window_view(y, lags)
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
    noise = float(np.median(values[: max(len(values) // 2, 1)]))
    # V. A. Marchenko, L. A. Pastur (1967): eigenvalues of noise end at (1 + sqrt(rows / columns))^2
    edge = (1 + (len(values) / columns) ** 0.5) ** 2
    count = int(np.count_nonzero(values > _OVER_NOISE * edge * max(noise, 1e-30)))
    return min(count, _MOST_PARTIALS, len(values) // 3)


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
    amplitudes, shapes = _amplitudes(y, poles, n)
    left = y - shapes @ amplitudes
    for _ in range(rounds):
        # the model is analytic in log poles and amplitudes: Gauss-Newton in complex numbers
        slopes = (n[:, None] * shapes * amplitudes)[:, free]
        step = np.linalg.lstsq(np.hstack((shapes, slopes)), left, rcond=1e-9)[0][count:]
        step *= np.minimum(1.0, 0.1 / np.maximum(np.abs(step), 1e-12))
        moved = poles.copy()
        moved[free] += step
        moved.real = np.clip(moved.real, -1.5, 0.002)
        new_amplitudes, new_shapes = _amplitudes(y, moved, n)
        new_left = y - new_shapes @ new_amplitudes
        if np.vdot(new_left, new_left).real > 1.0001 * np.vdot(left, left).real:
            break
        poles, amplitudes, shapes, left = moved, new_amplitudes, new_shapes, new_left
        if np.abs(step).max(initial=0.0) < 1e-6:
            break
    return _with_spreads(y, poles, amplitudes, shapes, left, n)


def _amplitudes(y: Complex, poles: Complex, n: NDArray[np.intp]) -> tuple[Complex, Complex]:
    shapes = np.exp(np.outer(n, poles))
    return np.asarray(np.linalg.lstsq(shapes, y, rcond=1e-9)[0]), np.asarray(shapes)


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
    whole = float(np.vdot(y, y).real)
    explained = 1 - float(np.vdot(left, left).real) / whole if whole > 0 else 0.0
    return Fit(poles, amplitudes, np.asarray(variances), noise, explained)
