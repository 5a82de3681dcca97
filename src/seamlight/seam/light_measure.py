"""How much light comes through at each place along the joint, the glow of the wood taken off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from seamlight.seam.light_ends import Ends
from seamlight.seam.light_follow import REACH_PX, Strip
from seamlight.seam.tone_curve import Tone

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

STEP_MM = 0.5
_SHOWS = 0.005  # of full light, at the middle of the line on the mean
_EDGE_OF_LINE = 0.03  # of the line's own middle
_LEAST_HALF_PX = 3.0
END_MM = 1.2  # left out at either end, where the lamp's light spills over the leaf's end


@dataclass(frozen=True, eq=False)
class Cut:
    """The columns of one picture between the joint's ends, in the seam frame."""

    luma: NDArray[np.uint8]  # (rows, n)
    away_px: Floats  # (rows, n)
    within: Bools  # (rows, n) the seam's own light
    beside: Bools  # (rows, n) the wood next to it
    cosine: Floats  # (n,) of the seam's slope, over the scale across against the joint's mean
    s_mm: Floats  # (n,) from the neck end, rising
    over_px: Bools  # (rows, n) where the light is cut off
    at_px: Floats  # (n, 2) in the picture
    flank: Floats  # (n,)
    px_per_mm: float
    length_mm: float


def cut_joint(strip: Strip, ends: Ends, length_mm: float, neck_last: bool = False) -> Cut:
    """The joint's columns, neck end first.

    Args:
        neck_last: the neck end is at the right (or at the bottom) of the picture.
    """
    px_per_mm = (ends.to_px - ends.from_px) / length_mm
    keep = (strip.s_px >= ends.from_px) & (strip.s_px <= ends.to_px)
    order = np.flatnonzero(keep)[::-1] if neck_last else np.flatnonzero(keep)
    s = (strip.s_px[order] - ends.from_px) / px_per_mm
    away, inside = strip.away_px[:, order], strip.inside[:, order]
    half = window_px(strip.luma[:, keep], strip.away_px[:, keep], px_per_mm)
    within = (np.abs(away) <= half) & inside
    # a column of a slanting seam leans: each of its pixels has its own place along the joint
    tangent = np.sqrt(1 / strip.cosine[order] ** 2 - 1) * np.sign(strip.rise[order])
    own = (strip.s_px[order] + away * tangent - ends.from_px) / px_per_mm
    margin = END_MM + 1.0 / px_per_mm
    beside = (np.abs(away) > half + 1) & (np.abs(away) <= half + 1 + max(8.0, 2 * px_per_mm)) & inside
    beside &= (own > margin) & (own < length_mm - margin)
    return Cut(
        strip.luma[:, order], away.astype(np.float64), within, beside, strip.cosine[order],
        length_mm - s if neck_last else s, strip.clipped[:, order],
        strip.at_px[order], strip.flank[order], px_per_mm, length_mm,
    )  # fmt: skip


def window_px(luma: NDArray[np.uint8], away_px: NDArray[np.float32], px_per_mm: float) -> float:
    """Half the width that holds the seam's light: as wide as the line itself, blur and all.

    The narrower, the less the wood's own light and its rings are in it. A line that hardly shows gets room
    for the widest gap, blur and halo.
    """
    most = float(min(max(7.0, 1.2 * px_per_mm + 3.0), REACH_PX - 20))
    at = np.minimum(np.abs(away_px) * 2, 2 * most + 8).astype(int).ravel()
    light = np.bincount(at, Tone().table()[luma].ravel()) / np.maximum(np.bincount(at), 1)
    light = light - float(np.median(light[int(2 * most) :]))
    if light.max() < _SHOWS:
        return most
    over = np.flatnonzero(light[: int(2 * most)] > _EDGE_OF_LINE * light.max())
    return float(np.clip((over[-1] + 1) / 2, _LEAST_HALF_PX, most))


def seen_px(cut: Cut, tone: Tone, edge_glow_px: float = 0.0) -> Floats:
    """(n,) light of the seam in each column: full light times pixels square to the seam.

    Args:
        edge_glow_px: by how much the wood's glow at its edges exceeds that beside, px of the glow beside.
    """
    light = tone.table()[cut.luma]
    glow = glow_of(cut, light)
    amount = np.where(cut.within, light - glow, 0.0).sum(axis=0) * cut.cosine
    return np.asarray(amount - edge_glow_px * glow, dtype=np.float64)


def glow_of(cut: Cut, light: Floats) -> Floats:
    """(n,) light of the wood beside the seam, evened over 2 mm along it."""
    total = np.where(cut.beside, light, 0.0).sum(axis=0)
    count = cut.beside.sum(axis=0).astype(np.float64)
    size = max(3, round(2.0 * cut.px_per_mm))
    share = uniform_filter1d(count, size, mode="constant")
    glow = uniform_filter1d(total.astype(np.float64), size, mode="constant") / np.maximum(share, 1e-9)
    has = np.flatnonzero(count > 0)
    if has.size == 0:
        return np.zeros(len(glow))
    return np.asarray(np.interp(np.arange(len(glow)), has, glow[has]), dtype=np.float64)


def grid_mm(length_mm: float) -> Floats:
    """(m,) even places along the joint, half a step inside either end."""
    count = max(8, round(length_mm / STEP_MM))
    return np.asarray((np.arange(count) + 0.5) * (length_mm / count), dtype=np.float64)


def on_grid(s_mm: Floats, values: Floats, length_mm: float) -> Floats:
    """(m,) values at columns (n,) as means over the grid's steps, straight on over the ends left out."""
    grid = grid_mm(length_mm)
    step = grid[1] - grid[0]
    use = (s_mm > END_MM) & (s_mm < length_mm - END_MM)
    index = np.clip((s_mm[use] / step).astype(int), 0, len(grid) - 1)
    count = np.bincount(index, minlength=len(grid))
    total = np.bincount(index, values[use], len(grid))
    has = count > 0
    found = np.interp(grid, grid[has], total[has] / count[has])
    for near in (grid <= END_MM + step, grid >= length_mm - END_MM - step):
        middle = length_mm if grid[near][0] > 1.5 * END_MM else 0.0
        base = has & (np.abs(grid - middle) > END_MM) & (np.abs(grid - middle) < 10.0)
        line = np.polyfit(grid[base], found[base], 1)
        found[near & ~has] = np.polyval(line, grid[near & ~has])
    return np.asarray(found, dtype=np.float64)


def noise_of(values: Floats) -> float:
    """Standard error of one value, from how unevenly neighbours follow each other."""
    bend = values[2:] - 2 * values[1:-1] + values[:-2]
    return float(1.4826 * np.median(np.abs(bend)) / np.sqrt(6.0))
