"""The end of a leaf cut out of its picture: a long thin strip, laid level at a known scale."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from seamlight.mistake import Mistake
from seamlight.photo.flat import Mask, Rgb

PX_PER_MM = 12.0  # that the strip is laid out at
SMALL_SIDE_PX = 1200  # the strip is found in a picture of at most this length
LEAST_SLENDER = 8.0  # an end is at least this many times as long as it is thick
LEAST_DIFFERENCE = 7.0  # of wood from the bench, in CIE L*a*b*
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
    wood = np.ones(gray.shape, bool)
    if _has_bench(rgb):
        wood = _between_faces(_unlike_bench(np.asarray(level, np.uint8), _bench(rgb)))
    return Strip(gray, wood, PX_PER_MM)


def _box(rgb: Rgb) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Centre, (length, thickness) and turn of the end in px of the picture."""
    height, width = rgb.shape[:2]
    if not _has_bench(rgb):
        if width < LEAST_SLENDER * height or float(rgb.max()) < 12:
            raise Mistake("no end of a leaf found", where="--end", do=SAY)
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


@dataclass(frozen=True, eq=False)
class _Bench:
    colour: NDArray[np.float32]  # CIE L*a*b*
    spread: float  # of the bench about it


def _has_bench(rgb: Rgb) -> bool:
    """Whether the middle differs from the picture's top and bottom rows: else it is all end."""
    few = rgb[:: max(1, rgb.shape[0] // 400), :: max(1, rgb.shape[1] // 800)]
    return bool(np.mean(_unlike_bench(few, _bench(rgb))) > 0.005)


def _bench(rgb: Rgb) -> _Bench:
    edge = max(1, rgb.shape[0] // 40)
    rim = np.concatenate([rgb[:edge].reshape(-1, 3), rgb[-edge:].reshape(-1, 3)])
    seen = _lab(rim[:: max(1, len(rim) // 4000)][None])[0]
    colour = np.median(seen, axis=0)
    return _Bench(colour, float(np.median(np.linalg.norm(seen - colour, axis=1))))


def _unlike_bench(rgb: Rgb, bench: _Bench) -> Mask:
    away = cv2.blur(np.linalg.norm(_lab(rgb) - bench.colour, axis=2).astype(np.float32), (3, 3))
    level = max(LEAST_DIFFERENCE, 4 * bench.spread, 0.3 * float(np.percentile(away, 98)))
    return np.asarray(away > level)


def _between_faces(mask: Mask) -> Mask:
    """The band from the uppermost to the lowest wood of every column: dark rings filled, strays left out."""
    rows, columns = mask.shape
    at = np.flatnonzero(mask.any(axis=0))
    if not len(at):
        return mask
    every = np.arange(columns)
    top = np.interp(every, at, np.argmax(mask, axis=0)[at])
    bottom = np.interp(every, at, rows - 1 - np.argmax(mask[::-1], axis=0)[at])
    size = min(41, 2 * (columns // 4) + 1)
    top, bottom = median_filter(top, size, mode="nearest"), median_filter(bottom, size, mode="nearest")
    row = np.arange(rows)[:, None]
    return np.asarray((row >= top[None, :]) & (row <= bottom[None, :]))


def _lab(rgb: Rgb) -> NDArray[np.float32]:
    return np.asarray(cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), np.float32)
