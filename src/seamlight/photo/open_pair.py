"""An opened pair photographed as one piece of wood, parted along its joint."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.cut import Silhouette
from seamlight.photo.flat import Points, Rgb
from seamlight.photo.flatten import lay_frame
from seamlight.photo.planes import EvenPlane
from seamlight.photo.ring import spaced

Array = NDArray[np.float64]

# Wider than this beside its length it is two leaves: single leaves are about 0.35 to 0.45, common practice, no source.
PAIR_WIDTH = 0.58
_FLAT_LENGTH_PX = 900


def split_pair(rgb: Rgb, both: Silhouette, turns: int) -> list[Silhouette]:
    """The two leaves of a silhouette as wide as a pair, or the one leaf it is."""
    if any(both.cut_by):
        return [both]
    size_px = (rgb.shape[1], rgb.shape[0])
    rough = lay_frame(EvenPlane(1.0), both, turns, size_px)
    if rough.width_mm < PAIR_WIDTH * rough.length_mm:
        return [both]
    ring = rough.ring_mm
    scale = _FLAT_LENGTH_PX / rough.length_mm
    joint = _joint(_small_flat(rgb, rough.map.to_photo, rough.width_mm, rough.length_mm, scale)) / scale
    spacing = float(np.median(np.linalg.norm(np.diff(ring, axis=0), axis=1)))
    halves = []
    for sign in (-1.0, 1.0):
        half = _clipped(ring, joint, sign)
        half_px = spaced(rough.map.to_photo(half), spacing)
        holes = tuple(
            hole for hole in both.holes_px if sign * _beside(rough.map.to_leaf(hole), joint).mean() > 0
        )
        halves.append(replace(both, ring_px=half_px, holes_px=holes))
    return halves


def _small_flat(rgb: Rgb, to_photo, width: float, length: float, scale: float) -> NDArray[np.float32]:  # type: ignore[no-untyped-def]
    """(h, w) lightness of the piece laid flat, roughly."""
    columns, rows = int(width * scale), int(length * scale)
    x, y = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    at = to_photo(np.stack([x.ravel(), y.ravel()], axis=1) / scale).reshape(rows, columns, 2) - 0.5
    shrink = max(1, round(1 / scale))
    smooth = cv2.blur(rgb, (shrink, shrink)) if shrink > 1 else rgb
    laid = cv2.remap(smooth, at.astype(np.float32), None, cv2.INTER_LINEAR)
    return np.asarray(cv2.cvtColor(laid, cv2.COLOR_RGB2GRAY), np.float32)


def _joint(light: NDArray[np.float32]) -> Array:
    """(2,) x of the joint at the piece's two ends, px of the flat picture.

    The joint is a line from end to end near the middle: of all such lines the one that stands out most from what
    lies on either side of it and about which the figure mirrors best.
    """
    rows, columns = light.shape
    inner = light[int(0.04 * rows) : int(0.96 * rows)]
    smooth = inner - cv2.GaussianBlur(inner, (0, 0), columns / 40)
    bands = np.array_split(smooth, 24)
    profiles = np.stack([band.mean(axis=0) for band in bands])
    middle, swing = columns / 2, max(int(0.12 * columns), 3)
    best, best_score = np.array([middle, middle]), -np.inf
    noise = float(profiles.std()) + 1e-6
    # the line's place at end 1 and end 2, in steps of half a pixel near the middle
    at = middle + np.arange(-swing, swing + 0.5, 1.0)
    share = (np.arange(len(bands)) + 0.5) / len(bands)
    for tilt in np.arange(-0.02 * rows, 0.02 * rows + 1, 2.0):
        place = at[:, None] + tilt * (share[None] - 0.5)
        shown = _at(profiles, place)
        beside = 0.5 * (_at(profiles, place - 5) + _at(profiles, place + 5))
        line = np.abs(np.mean(shown - beside, axis=1)) - 0.3 * np.std(shown - beside, axis=1)
        score = line / noise + 0.5 * _mirrored(profiles, place) - 0.3 * np.abs(at - middle) / swing
        index = int(np.argmax(score))
        if score[index] > best_score:
            best_score = float(score[index])
            best = np.array([at[index] - tilt / 2, at[index] + tilt / 2])
    return best


def _at(profiles: NDArray[np.float32], place: Array) -> Array:
    """(k, bands) the profiles' values at places (k, bands)."""
    index = np.clip(np.round(place).astype(int), 0, profiles.shape[1] - 1)
    return np.asarray(profiles[np.arange(profiles.shape[0])[None], index], np.float64)


def _mirrored(profiles: NDArray[np.float32], place: Array) -> Array:
    """(k,) correlation of the figure left of each line with the mirrored figure right of it."""
    reach = np.arange(3, max(int(0.3 * profiles.shape[1]), 4))
    left = np.stack([_at(profiles, place - step) for step in reach], axis=-1).reshape(len(place), -1)
    right = np.stack([_at(profiles, place + step) for step in reach], axis=-1).reshape(len(place), -1)
    left, right = left - left.mean(axis=1, keepdims=True), right - right.mean(axis=1, keepdims=True)
    size = np.sqrt(np.sum(left**2, axis=1) * np.sum(right**2, axis=1)) + 1e-9
    return np.asarray(np.sum(left * right, axis=1) / size)


def _beside(points: Points, joint: Array) -> Array:
    """How far right of the joint points lie; the joint's ends are given over the points' own length."""
    top, bottom = 0.0, 1.0
    del top, bottom
    return points[:, 0] - joint.mean()


def _clipped(ring: Points, joint: Array, sign: float) -> Points:
    """The part of a ring left (sign -1) or right (sign 1) of the joint line."""
    length = ring[:, 1].max()
    side = sign * (ring[:, 0] - (joint[0] + (joint[1] - joint[0]) * ring[:, 1] / length))
    following = np.roll(ring, -1, axis=0)
    next_side = np.roll(side, -1)
    out = []
    for here, there, a, b in zip(ring, following, side, next_side, strict=True):
        if a >= 0:
            out.append(here)
        if (a >= 0) != (b >= 0):
            out.append(here + (there - here) * a / (a - b))
    return np.array(out)
