"""How well lines through a place of the end, at each lean, explain the figure round it.

Round each place the strip is sampled along arcs, the level lines of a pattern that goes round one pith. The
mean along an arc keeps a ring and loses noise and scratches; the share of the figure's power that the means
keep tells how far the arcs are the rings. Arcs of rings that stand to the face run through the thickness,
those of lying rings along the width, so neither kind is told worse than the other.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.endgrain_strip import Strip

Array = NDArray[np.float64]
Float32 = NDArray[np.float32]

PX_PER_MM = 6.0  # that places are sampled at: four pixels on a ring of 0.7 mm
RIM_MM = 0.35  # of the faces, rough or in shadow, left out
LEVEL_MM = 6.0  # slower changes of lightness are stain and light
WINDOW_MM = 2.8  # deviation along the width
REACH_MM = 6.0  # along an arc and across arcs, to either side
ACROSS_MM, ALONG_MM = 1 / 6, 0.4  # from sample to sample
LEAST_SEEN = 1e-3


def even_figure(strip: Strip, line_mm: float) -> Float32:
    """(h, w, 2) lightness over that of the wood about it, softened by `line_mm`, and where it counts.

    Softened before the faces' rims are left out: a figure cut off first would lean towards its border.
    """
    px = strip.px_per_mm
    inner, wood = _inner(strip), strip.wood.astype(np.float32)
    size = (_odd(LEVEL_MM * px),) * 2
    level = cv2.blur(strip.gray * inner, size) / np.maximum(cv2.blur(inner, size), LEAST_SEEN)
    return _softened(strip, np.asarray(level, np.float32), wood, inner, line_mm)


def upright_figure(strip: Strip, line_mm: float) -> Float32:
    """The same over the mean of the whole thickness, which favours no lean; slow bands may stay in it."""
    inner, wood = _inner(strip), strip.wood.astype(np.float32)
    soft = LEVEL_MM / 2.5 * strip.px_per_mm
    seen, there = (
        np.asarray(cv2.GaussianBlur(part.sum(axis=0)[None, :], (0, 0), soft), np.float32)
        for part in (strip.gray * inner, inner)
    )
    level = np.asarray(seen / np.maximum(there, LEAST_SEEN), np.float32)
    return _softened(strip, level, wood, inner, line_mm)


def explained(figure: Float32, x_mm: Array, normal_deg: Array, bend_per_mm: Array) -> Array:
    """Share (n, k) of the power round each place that the means along arcs keep, 0..1.

    Args:
        x_mm: (n,) places along the strip. normal_deg: (n, k) turns of the arcs' normal from the strip's x.
        bend_per_mm: (n,) one over the arcs' radius; the pith lies against the normal.
    """
    across = np.arange(-REACH_MM, REACH_MM + ACROSS_MM / 2, ACROSS_MM, dtype=np.float32)[:, None]
    along = np.arange(-REACH_MM, REACH_MM + ALONG_MM / 2, ALONG_MM, dtype=np.float32)[None, :]
    middle = np.float32((len(figure) - 1) / 2)
    share = np.empty(normal_deg.shape)
    for place, bend in enumerate(bend_per_mm.astype(np.float32)):
        # a circle of radius 1 / bend to the second order, level lines of the pattern on either side of it
        drawn = 1 + across * bend
        beside, out = along * drawn, across - along * along * (bend / 2) * drawn
        turn = np.radians(normal_deg[place]).astype(np.float32)[:, None, None]
        x = out * np.cos(turn) - beside * np.sin(turn)
        y = out * np.sin(turn) + beside * np.cos(turn)
        share[place] = _kept(figure, x, np.float32(x_mm[place]), y, middle)
    return share


def _kept(figure: Float32, x: Float32, at_mm: np.float32, y: Float32, middle: np.float32) -> Array:
    leans, arcs, _ = x.shape
    flat = (leans * arcs, x.shape[2])
    column = (x + at_mm) * np.float32(PX_PER_MM) - np.float32(0.5)
    row = y * np.float32(PX_PER_MM) + middle
    seen = cv2.remap(figure, column.reshape(flat), row.reshape(flat), cv2.INTER_LINEAR, borderValue=(0, 0))
    weight = np.exp(x.reshape(flat) ** 2 * np.float32(-0.5 / WINDOW_MM**2))
    light, there = seen[..., 0] * weight, seen[..., 1] * weight
    power = np.einsum("ij,ij->i", light, seen[..., 0]).reshape(leans, arcs).sum(axis=1)
    total, count = light.sum(axis=1), there.sum(axis=1)
    mean = np.where(count > LEAST_SEEN, total * total / np.maximum(count, LEAST_SEEN), 0)
    return np.asarray(mean.reshape(leans, arcs).sum(axis=1) / np.maximum(power, 1e-6), np.float64)


def _softened(strip: Strip, level: Float32, wood: Float32, inner: Float32, line_mm: float) -> Float32:
    soft = line_mm * strip.px_per_mm
    change = np.where(wood > 0, strip.gray - level, np.float32(0))
    calm = cv2.GaussianBlur(change, (0, 0), soft) / np.maximum(cv2.GaussianBlur(wood, (0, 0), soft), 0.2)
    by = PX_PER_MM / strip.px_per_mm
    both = cv2.merge([calm * inner, inner])
    return np.asarray(cv2.resize(both, None, fx=by, fy=by, interpolation=cv2.INTER_AREA), np.float32)


def _inner(strip: Strip) -> Float32:
    rim = _odd(2 * RIM_MM * strip.px_per_mm)
    kernel = np.ones((rim, rim), np.uint8)
    wood = strip.wood.astype(np.uint8)
    return np.asarray(cv2.erode(wood, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0), np.float32)


def _odd(pixels: float) -> int:
    return max(1, 2 * int(pixels / 2) + 1)
