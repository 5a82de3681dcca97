"""Find the line of light in a picture, at any angle."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake

Floats = NDArray[np.float64]
F32 = NDArray[np.float32]

_SMALL_PX = 1000  # long side of the picture in which the line is sought
_THIN = 7  # px there: nothing wider is a seam (some 4 mm)
_LEAST_SPAN = 0.2  # of the long side
_AT_LEAST = 0.004  # of full light, as the small picture's pixels see a gap of some 0.01 mm
_LAMP_AT_LEAST = 0.05  # of full light: what is wide and as bright is no wood


@dataclass(frozen=True)
class Line:
    """A straight line in the picture's pixels, from the left (or the top, where it is steep)."""

    from_px: tuple[float, float]
    to_px: tuple[float, float]
    strength: float  # mean light above its surroundings where it shows
    lit_px: float  # length over which light shows

    @property
    def steep(self) -> bool:
        """Whether it runs down the picture rather than across."""
        return abs(self.to_px[1] - self.from_px[1]) > abs(self.to_px[0] - self.from_px[0])


def find_line(light: F32, name: str) -> Line | None:
    """The one thin line of light in a picture (h, w) of linear light; None where there is none.

    Raises:
        Mistake: two such lines.
    """
    factor = max(1.0, max(light.shape) / _SMALL_PX)
    small = light if factor == 1 else _smaller(light, factor)
    ridge, thin = _thin_light(small)
    least_px = _LEAST_SPAN * max(small.shape)
    first = _best(ridge, thin, least_px)
    if first is None:
        return None
    rest = thin & (_away(first, thin.shape) > 5 + 0.01 * max(small.shape))
    # a second line may be fainter than the first, but not as faint as what the wood's rings show
    second = _best(ridge, rest, least_px)
    if second is not None and second.lit_px > 0.4 * first.lit_px and second.strength > 0.3 * first.strength:
        raise Mistake(
            "two lines of light are in the picture", where=name, do="have one joint in it, and cover the rest"
        )
    return _scaled(first, factor)


def _smaller(light: F32, factor: float) -> F32:
    size = (round(light.shape[1] / factor), round(light.shape[0] / factor))
    return np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), dtype=np.float32)


def _thin_light(small: F32) -> tuple[F32, NDArray[np.bool_]]:
    """What is brighter than its surroundings and thin; and where that is beyond doubt."""
    wide = cv2.morphologyEx(small, cv2.MORPH_OPEN, np.ones((_THIN, _THIN), np.uint8))
    lit = wide > max(0.25 * float(wide.max()), _LAMP_AT_LEAST)
    bright = cv2.dilate(lit.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    ridge = np.where(bright, 0.0, small - wide).astype(np.float32)
    # rings that glow through softwood are thin as well, but many: the seam stands above nearly all of them
    plain = ridge[~bright]
    if plain.size < 1000:
        return ridge, np.zeros(ridge.shape, bool)
    usual = float(np.quantile(plain, 0.98))
    strong = float(np.quantile(plain, 0.9995))
    least = max(_AT_LEAST, 1.6 * usual if usual < 0.3 * strong else 0.0, 0.12 * strong)
    return ridge, (ridge > least) & ~bright


def _best(ridge: F32, thin: NDArray[np.bool_], least_px: float) -> Line | None:
    """The line along which the most thin light lies."""
    if np.count_nonzero(thin) < 0.25 * least_px:
        return None
    lines = cv2.HoughLines(thin.astype(np.uint8), 1, np.pi / 720, max(8, int(0.2 * least_px)))
    if lines is None:
        return None
    rows, cols = np.nonzero(thin)
    points = np.column_stack([cols, rows]).astype(np.float64)
    weights = np.minimum(ridge[rows, cols], 4 * float(np.median(ridge[rows, cols]))).astype(np.float64)
    found = [_fitted(points, weights, float(line[0][0]), float(line[0][1]), least_px) for line in lines[:6]]
    good = [line for line in found if line is not None]
    return max(good, key=lambda line: line.lit_px, default=None)


def _fitted(points: Floats, weights: Floats, rho: float, theta: float, least_px: float) -> Line | None:
    """The line through the points near a first guess, or None where they are scattered or few."""
    normal = np.array([np.cos(theta), np.sin(theta)])
    middle = normal * rho
    for reach in (6.0, 3.0, 3.0):
        near = np.abs((points - middle) @ normal) < reach
        if np.count_nonzero(near) < 8:
            return None
        some, weight = points[near], weights[near]
        middle = np.average(some, axis=0, weights=weight)
        spread = (some - middle) * np.sqrt(weight)[:, None]
        normal = np.linalg.svd(spread, full_matrices=False)[2][1]
    along = np.array([normal[1], -normal[0]])
    if along[np.argmax(np.abs(along))] < 0:
        along = -along
    place = (some - middle) @ along
    lit = np.unique(np.round(place)).size
    span = float(np.ptp(place))
    thick = len(some) / lit
    if span < least_px or lit < 0.12 * least_px or thick > 4.5:
        return None
    start, stop = middle + along * place.min(), middle + along * place.max()
    return Line(
        (float(start[0]), float(start[1])), (float(stop[0]), float(stop[1])), float(weight.mean()), float(lit)
    )


def _away(line: Line, shape: tuple[int, ...]) -> F32:
    """(h, w) distance of each pixel from a line, px."""
    start, stop = np.array(line.from_px), np.array(line.to_px)
    along = (stop - start) / np.linalg.norm(stop - start)
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    return np.asarray(np.abs((x - start[0]) * along[1] - (y - start[1]) * along[0]), dtype=np.float32)


def _scaled(line: Line, factor: float) -> Line:
    """A line of the small picture in the large one; pixel centres at whole numbers in both."""

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return ((point[0] + 0.5) * factor - 0.5, (point[1] + 0.5) * factor - 0.5)

    return Line(at(line.from_px), at(line.to_px), line.strength, line.lit_px * factor)
