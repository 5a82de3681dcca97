"""An opened pair photographed as one piece of wood, parted along its joint."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.cut import Silhouette
from seamlight.photo.flat import Points, Rgb
from seamlight.photo.flatten import LeafFrame, lay_frame, resampled
from seamlight.photo.planes import EvenPlane
from seamlight.photo.ring import spaced

Array = NDArray[np.float64]
Light = NDArray[np.float32]

# Wider than this beside its length it is two leaves: single ones are 0.3 to 0.45; common practice, no source.
PAIR_WIDTH = 0.58
_COARSE_LENGTH_PX, _FINE_LENGTH_PX = 560, 2240
_BANDS = 16


def split_pair(rgb: Rgb, both: Silhouette, turns: int) -> list[Silhouette]:
    """The two leaves of a silhouette as wide as a pair, or the one leaf that it is."""
    frame = wide_frame(rgb, both, turns)
    if frame is None:
        return [both]
    coarse = _lightness(rgb, frame, _COARSE_LENGTH_PX / frame.length_mm)
    near = _joint(coarse) * frame.length_mm / _COARSE_LENGTH_PX
    edges = _gap(rgb, frame, near)
    spacing = float(np.median(np.linalg.norm(np.diff(both.ring_px, axis=0), axis=1)))
    halves = []
    for sign, joint in zip((-1.0, 1.0), edges, strict=True):
        half = _clipped(frame.ring_mm, joint, sign)
        holes = tuple(
            hole
            for hole in both.holes_px
            if np.mean(_right_of(frame.map.to_leaf(hole), joint, frame.length_mm)) * sign > 0
        )
        halves.append(replace(both, ring_px=spaced(frame.map.to_photo(half), spacing), holes_px=holes))
    return halves


def wide_frame(rgb: Rgb, both: Silhouette, turns: int) -> LeafFrame | None:
    """The frame, in px, of a silhouette as wide beside its length as only a pair is; None for any other."""
    if any(both.cut_by):
        return None
    frame = lay_frame(EvenPlane(1.0), both, turns, (rgb.shape[1], rgb.shape[0]))
    return frame if frame.width_mm >= PAIR_WIDTH * frame.length_mm else None


def _lightness(rgb: Rgb, frame: LeafFrame, scale: float, across: tuple[float, float] | None = None) -> Light:
    """(h, w) lightness of the piece laid flat `scale` times its size; `across`: only from x to x."""
    low, high = across if across is not None else (0.0, frame.width_mm)
    size = max(int((high - low) * scale), 1), max(int(frame.length_mm * scale), 1)
    shrink = max(1, round(1 / scale))
    source = rgb[::shrink, ::shrink] if shrink == 1 else cv2.blur(rgb, (shrink, shrink))
    laid = resampled(
        np.asarray(source, np.uint8), lambda at: frame.map.to_photo(at + np.array([low, 0.0])), size, scale
    )
    return np.asarray(cv2.cvtColor(laid, cv2.COLOR_RGB2GRAY), np.float32)


def _joint(light: Light) -> Array:
    """(2,) x of the joint at the piece's two ends, px of the flat picture.

    The joint is a line from end to end near the middle: of all such lines the one that stands out most from
    what lies on either side of it and about which the figure mirrors best.
    """
    rows, columns = light.shape
    inner = light[int(0.04 * rows) : int(0.96 * rows)]
    smooth = inner - cv2.GaussianBlur(inner, (0, 0), columns / 40)
    profiles = np.stack([band.mean(axis=0) for band in np.array_split(smooth, _BANDS)])
    middle, swing = columns / 2, max(int(0.1 * columns), 3)
    noise = float(profiles.std()) + 1e-6
    at = middle + np.arange(-swing, swing + 0.5, 1.0)
    share = (np.arange(_BANDS) + 0.5) / _BANDS
    best, best_score = np.array([middle, middle]), -np.inf
    for tilt in np.arange(-0.016 * rows, 0.016 * rows + 0.5, 1.5):
        place = at[:, None] + tilt * (share[None] - 0.5)
        stands_out = _at(profiles, place) - 0.5 * (_at(profiles, place - 4) + _at(profiles, place + 4))
        line = np.abs(np.mean(stands_out, axis=1)) - 0.3 * np.std(stands_out, axis=1)
        off = np.abs(at - middle) / swing
        score = 0.4 * np.minimum(line / noise, 1.5) + 1.5 * _mirrored(profiles, place) - 0.3 * off
        index = int(np.argmax(score))
        if score[index] > best_score:
            best_score = float(score[index])
            best = np.array([at[index] - tilt / 2, at[index] + tilt / 2])
    return best


def _at(profiles: Light, place: Array) -> Array:
    """(k, bands) the profiles' values at places (k, bands)."""
    index = np.clip(np.round(place).astype(int), 0, profiles.shape[1] - 1)
    return np.asarray(profiles[np.arange(profiles.shape[0])[None], index], np.float64)


def _mirrored(profiles: Light, place: Array) -> Array:
    """(k,) correlation of the figure left of each line with the mirrored figure right of it."""
    reach = np.arange(3, max(int(0.3 * profiles.shape[1]), 4), 2)
    left, right = (
        np.stack([_at(profiles, place + sign * step) for step in reach], axis=-1).reshape(len(place), -1)
        for sign in (-1, 1)
    )
    left, right = left - left.mean(axis=1, keepdims=True), right - right.mean(axis=1, keepdims=True)
    size = np.sqrt(np.sum(left**2, axis=1) * np.sum(right**2, axis=1)) + 1e-9
    return np.asarray(np.sum(left * right, axis=1) / size)


def _gap(rgb: Rgb, frame: LeafFrame, near: Array) -> tuple[Array, Array]:
    """The left leaf's and the right leaf's joint edge, each (2,) x at the piece's two ends.

    Looked for in a finer strip along the joint: where the light falls off into the gap and comes back. Where
    nothing stands out the leaves touch and both edges are the same line.
    """
    scale = min(_FINE_LENGTH_PX / frame.length_mm, 1.0)
    reach = 0.012 * frame.length_mm
    strip = _lightness(rgb, frame, scale, (float(near.min()) - 2 * reach, float(near.max()) + 2 * reach))
    bands = np.stack([band.mean(axis=0) for band in np.array_split(strip, _BANDS)])
    share = (np.arange(_BANDS) + 0.5) / _BANDS
    at = near[0] + (near[1] - near[0]) * share - (near.min() - 2 * reach)
    steps = np.arange(-reach, reach, 0.5 / scale)
    straight = np.stack(
        [
            np.interp((where + steps) * scale, np.arange(bands.shape[1]) + 0.5, band)
            for where, band in zip(at, bands, strict=True)
        ]
    )
    profile = np.median(straight - np.median(straight, axis=1, keepdims=True), axis=0)
    rest = 1.4826 * float(np.median(np.abs(profile - np.median(profile)))) + 1.0
    inner = np.abs(steps) < 0.6 * reach
    deep = int(np.argmax(np.where(inner, np.abs(profile), 0.0)))
    depth = float(profile[deep])
    if abs(depth) < 4 * rest:
        return near, near
    in_gap = profile / depth > 0.5
    first = deep - int(np.argmin(in_gap[: deep + 1][::-1])) + 1
    last = deep + int(np.argmin(in_gap[deep:])) - 1
    return near + steps[first] - 0.25 / scale, near + steps[last] + 0.25 / scale


def _right_of(points: Points, joint: Array, length: float) -> Array:
    """(n,) how far right of the joint line points lie."""
    return np.asarray(points[:, 0] - (joint[0] + (joint[1] - joint[0]) * points[:, 1] / length))


def _clipped(ring: Points, joint: Array, sign: float) -> Points:
    """The part of a ring left (sign -1) or right (sign 1) of the joint line."""
    side = sign * _right_of(ring, joint, float(ring[:, 1].max()))
    out = []
    for here, there, a, b in zip(ring, np.roll(ring, -1, axis=0), side, np.roll(side, -1), strict=True):
        if a >= 0:
            out.append(here)
        if (a >= 0) != (b >= 0):
            out.append(here + (there - here) * a / (a - b))
    return np.array(out)
