"""The end of a leaf cut out of its picture: a long thin strip, laid level at a known scale."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo.flat import Mask, Rgb

PX_PER_MM = 12.0  # that the strip is laid out at
SMALL_SIDE_PX = 1200  # the strip is found in a picture of at most this length
LEAST_SLENDER = 8.0  # an end is at least this many times as long as it is thick
DIFFERS = 20.0  # in CIE L*a*b*, from the bench, at least
SAY = "photograph the end square on, its whole width in the picture, on a plain bench unlike the wood"


@dataclass(frozen=True, eq=False)
class Strip:
    """The level end: lightness (h, w), and which of it is wood."""

    gray: NDArray[np.float32]
    wood: Mask
    px_per_mm: float


def cut_strip(rgb: Rgb, width_mm: float) -> Strip:
    """Find the end in its picture and lay it level, scaled by the leaf's known width.

    Raises:
        Mistake: no long thin piece of wood stands out from the bench.
    """
    if rgb.shape[0] > rgb.shape[1]:
        rgb = np.ascontiguousarray(np.rot90(rgb))
    centre, (long, thick), angle = _box(rgb)
    scale = width_mm * PX_PER_MM / long
    columns, rows = round(width_mm * PX_PER_MM), max(8, round(thick * scale))
    turn = cv2.getRotationMatrix2D(centre, angle, scale)
    turn[:, 2] += np.array([columns / 2, rows / 2]) - np.array(centre)
    if scale < 0.7:
        rgb = np.asarray(cv2.GaussianBlur(rgb, (0, 0), 0.4 / scale), np.uint8)
    level = cv2.warpAffine(
        rgb, turn, (columns, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    gray = cv2.cvtColor(level, cv2.COLOR_RGB2GRAY).astype(np.float32)
    wood = (
        _unlike_bench(np.asarray(level, np.uint8), _bench(rgb))
        if _has_bench(rgb)
        else np.ones(gray.shape, bool)
    )
    return Strip(gray, wood, PX_PER_MM)


def _box(rgb: Rgb) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Centre, (length, thickness) and turn of the end in px of the picture."""
    height, width = rgb.shape[:2]
    if not _has_bench(rgb):
        return (width / 2, height / 2), (float(width), float(height)), 0.0
    shrink = min(1.0, SMALL_SIDE_PX / width)
    # thin ends keep some pixels of thickness
    small = cv2.resize(rgb, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    mask = _unlike_bench(np.asarray(small, np.uint8), _bench(rgb)).astype(np.uint8)
    mask = np.asarray(cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((3, 15), np.uint8)), np.uint8)
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    best = max(contours, key=cv2.contourArea, default=None)
    if best is None or cv2.contourArea(best) < 20:
        raise Mistake("no end of a leaf found", where="--end", do=SAY)
    (x, y), (first, second), angle = cv2.minAreaRect(best)
    if first < second:
        first, second, angle = second, first, angle - 90
    angle = (angle + 90) % 180 - 90
    # a contour runs through the middles of border pixels
    first, second = first + 1, second + 1
    if first / second < LEAST_SLENDER or cv2.contourArea(best) < 0.6 * first * second:
        raise Mistake("what stands out from the bench is no leaf's end", where="--end", do=SAY)
    return ((x + 0.5) / shrink, (y + 0.5) / shrink), (first / shrink, second / shrink), angle


def _has_bench(rgb: Rgb) -> bool:
    """Whether the picture's top and bottom rows differ from its middle: else it is all end."""
    border = _bench(rgb)
    return bool(np.mean(_unlike_bench(rgb[:: max(1, rgb.shape[0] // 400)], border)) > 0.01) and rgb.shape[
        1
    ] < (200 * rgb.shape[0])


def _bench(rgb: Rgb) -> NDArray[np.float32]:
    edge = max(1, rgb.shape[0] // 40)
    rim = np.concatenate([rgb[:edge].reshape(-1, 3), rgb[-edge:].reshape(-1, 3)])
    rim = rim[:: max(1, len(rim) // 4000)]
    return np.median(_lab(rim[None])[0], axis=0)


def _unlike_bench(rgb: Rgb, bench: NDArray[np.float32]) -> Mask:
    away = np.sqrt((((_lab(rgb)) - bench) ** 2).sum(axis=2))
    level = max(DIFFERS, 0.4 * float(np.percentile(away, 99)))
    return np.asarray(away > level)


def _lab(rgb: Rgb) -> NDArray[np.float32]:
    return np.asarray(cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), np.float32)
