"""What of a picture is bench: a plain surface under uneven light, fitted and told apart from what lies on it.

In log colour a plain surface under slowly changing light is a smooth field (light and surface multiply:
E. Land, J. McCann, "Lightness and retinex theory", 1971), and a soft shadow moves all three channels alike.
The field is a quadratic of the place, fitted again and again to the pixels that agree with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Mask, Rgb

Array = NDArray[np.float64]
Array32 = NDArray[np.float32]

_DARK = 24.0  # added before the logarithm: below it the camera's noise rules
_LOG = np.log(np.arange(256, dtype=np.float32) + np.float32(_DARK))
_SHADOW = 0.30  # how far a soft shadow may darken the bench, natural log, standard deviation
_HALF_SHADE = 0.45  # of the light is left
_LEAST_SPREAD, _MOST_SPREAD = 0.030, 0.11
_SAMPLES = 2500
_STRIP_ROWS = 64  # worked through at a time: they stay in the processor's cache
NOT_BENCH = 4.0  # standard deviations from the bench


@dataclass(frozen=True, eq=False)
class Bench:
    """A bench's colour as a field over the whole picture, and how much it varies."""

    field: Array32  # (6, 3) terms of a quadratic of the place, for each channel of log colour
    covariance: Array32  # (3, 3)
    shadow: float = _SHADOW  # how far a soft shadow may darken it, natural log, standard deviation

    def far(self, colour: Array32, box: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)) -> Array32:
        """(h, w) distance of each pixel of a part of the picture from the bench, see `far_at`.

        Args:
            colour: (h, w, 3) log colour of that part.
            box: the part as fractions of the picture: left, top, right, bottom.
        """
        height, width = colour.shape[:2]
        x = box[0] + (np.arange(width) + 0.5) / width * (box[2] - box[0]) - 0.5
        y = box[1] + (np.arange(height) + 0.5) / height * (box[3] - box[1]) - 0.5
        one, dx, dy, dxx, dxy, dyy = self.field[:, :, None]
        across = np.stack([one + x * (dx + dxx * x), dy + dxy * x, dyy + 0 * x], axis=1).astype(np.float32)
        down = np.stack([np.ones_like(y), y, y * y], axis=1).astype(np.float32)
        far = np.empty((height, width), np.float32)
        for first in range(0, height, _STRIP_ROWS):
            strip = slice(first, first + _STRIP_ROWS)
            far[strip] = self._far_off(colour[strip], down[strip] @ across)
        return far

    def far_at(self, colour: Array32, x: Array32, y: Array32) -> Array32:
        """(h, w) distance from the bench in the bench's own standard deviations (Mahalanobis).

        A darker pixel may also be a shadow, one and the same in all channels.

        Args:
            colour: (h, w, 3) log colour.
            x, y: (h,) where in the picture each row lies, as fractions of its width and height.
        """
        x, y = x - np.float32(0.5), y - np.float32(0.5)
        terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
        return self._far_off(colour, (terms @ self.field).T[:, :, None])

    def _far_off(self, colour: Array32, field: Array32) -> Array32:
        """(h, w) the same where the bench's own colour (3, h, w) is known at every place."""
        off = np.stack(cv2.split(colour)) - field
        parts = self._parts @ off.reshape(3, -1)
        first, second, third, shadow = parts.reshape(4, *off.shape[1:])
        darker = off[0] + off[1] + off[2] < 0
        plain = first * first + second * second + third * third
        return np.asarray(np.sqrt(np.maximum(plain - shadow * shadow * darker, 0)), np.float32)

    @cached_property
    def _parts(self) -> Array32:
        """(4, 3) rows that make of an offset its three independent parts and what a shadow explains of it.

        With S the covariance and v the shadow's way, by J. Sherman and W. Morrison, 1950:
        d' (S + v v')^-1 d = d' S^-1 d - (v' S^-1 d)^2 / (1 + v' S^-1 v).
        """
        covariance = self.covariance.astype(np.float64)
        way = self._shadow_way().astype(np.float64) * self.shadow
        shadowed = np.linalg.solve(covariance, way)
        white = np.linalg.inv(np.linalg.cholesky(covariance))
        return np.vstack([white, shadowed / np.sqrt(1 + way @ shadowed)]).astype(np.float32)

    def _shadow_way(self) -> Array32:
        """(3,) how a half-deep shadow moves the log colour, as a direction of mean 1.

        Not quite alike in all channels: the amount added before the logarithm weighs more in a darker one.
        """
        lit = np.maximum(np.exp(self.field[0]) - _DARK, 2.0)
        way = np.log((_HALF_SHADE * lit + _DARK) / (lit + _DARK))
        return np.asarray(way / way.mean(), np.float32)


@dataclass(frozen=True, eq=False)
class Ground:
    """All that is bench: one bench, or two where the leaf parts it and the light differs."""

    benches: tuple[Bench, ...]

    def far(self, colour: Array32, box: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)) -> Array32:
        """(h, w) distance from the nearest bench."""
        return np.asarray(np.minimum.reduce([bench.far(colour, box) for bench in self.benches]), np.float32)

    def far_at(self, colour: Array32, x: Array32, y: Array32) -> Array32:
        """(h, w) distance from the nearest bench."""
        return np.asarray(
            np.minimum.reduce([bench.far_at(colour, x, y) for bench in self.benches]), np.float32
        )


def log_colour(rgb: Rgb) -> Array32:
    """(h, w, 3) natural log of the colour."""
    return np.asarray(cv2.LUT(rgb, _LOG), np.float32)


def bench_guesses(colour: Array32, free: Mask) -> list[Bench]:
    """Benches that the picture may show, one for each main colour of what may be bench.

    Args:
        colour: (h, w, 3) log colour, small.
        free: (h, w) True where the bench may be.
    """
    height, width = free.shape
    rows, columns = np.nonzero(free)
    if len(rows) < 200:
        return []
    pick = np.linspace(0, len(rows) - 1, min(_SAMPLES, len(rows))).astype(int)
    rows, columns = rows[pick], columns[pick]
    samples = np.ascontiguousarray(colour[rows, columns])
    x, y = (columns + 0.5) / width - 0.5, (rows + 0.5) / height - 0.5
    places = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
    exact = samples.astype(np.float64)
    benches: list[Bench] = []
    taken: list[Mask] = []
    for seed in _main_colours(samples):
        grown = _grow(places, exact, seed)
        if grown is None or any((grown[1] & other).sum() > 0.8 * (grown[1] | other).sum() for other in taken):
            continue
        benches.append(grown[0])
        taken.append(grown[1])
    return benches


def _main_colours(samples: Array32, most: int = 5) -> list[Mask]:
    """Members of each main colour, the largest first; those under 4 % of the picture left out."""
    cv2.setRNGSeed(7)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 15, 0.01)
    start = np.zeros((len(samples), 1), np.int32)
    _, labels, _ = cv2.kmeans(samples, most, start, stop, 1, cv2.KMEANS_PP_CENTERS)
    found = [np.ravel(labels) == index for index in range(most)]
    return sorted((one for one in found if one.mean() > 0.04), key=lambda one: -one.sum())


def _grow(places: Array, samples: Array, seed: Mask) -> tuple[Bench, Mask] | None:
    """The bench that begins at the seed, and the samples that belong to it; None where it will not hold."""
    member, before, off = seed, seed, samples
    field = np.zeros((6, 3))
    for step, terms in enumerate((1, 3, 3, 3, 6, 6, 6, 6)):
        if step > 5 and np.array_equal(member, before):
            break
        field = np.zeros((6, 3))
        field[:terms] = _least_squares(places[:, :terms], samples, member)
        off = samples - places[:, :terms] @ field[:terms]
        size = np.sqrt(np.einsum("ij,ij->i", off, off) / 3)
        spread = min(max(1.4826 * _middle(size[member]), _LEAST_SPREAD), _MOST_SPREAD)
        before, member = member, size < 2.5 * spread
        if member.mean() < 0.03:
            return None
    covariance = np.cov(off[member].T) + np.eye(3) * 0.02**2
    return Bench(field.astype(np.float32), covariance.astype(np.float32)), member


def _middle(values: Array) -> float:
    """The median; of an even number the upper of the two in the middle."""
    half = len(values) // 2
    return float(np.partition(values, half)[half])


def _least_squares(terms: Array, values: Array, member: Mask) -> Array:
    """Weights of the terms that give the members' values best."""
    kept = terms * member[:, None]
    ridge = 1e-3 * int(member.sum()) * np.diag([0.0] + [0.01] * (terms.shape[1] - 1))
    normal = kept.T @ terms + ridge + 1e-9 * np.eye(terms.shape[1])
    return np.asarray(np.linalg.solve(normal, kept.T @ values))
