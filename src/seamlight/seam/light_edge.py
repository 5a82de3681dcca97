"""The leaves' ends against the lamp: an edge in the same focus as the seam, from dark to full light.

Light falls off evenly to both sides of a sharp edge, whatever the lens's blur; a curve that bends the codes
makes one side steeper. So an edge tells how the curve runs all the way up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.seam.light_ends import Ends
from seamlight.seam.light_follow import Strip
from seamlight.seam.tone_curve import Tone

Floats = NDArray[np.float64]

_PER_PX = 3
_NEAR_PX, _FAR_PX = 7.0, 12.0  # the blur ends; the plain wood and lamp used end
_ASIDE_PX = 14.0  # from the seam
_LEAST_STEP = 0.15  # of full light between wood and lamp


@dataclass(frozen=True, eq=False)
class Edge:
    """Codes around one leaf's end: positions from wood (below 0) to lamp, and each code's share there."""

    x_px: Floats  # (k,)
    codes: Floats  # (k, 256), rows sum to 1
    wood: Floats  # (256,)
    lamp: Floats  # (256,)

    def span(self, table: Floats) -> float:
        """From the wood's light to the lamp's."""
        return max(float((self.lamp - self.wood) @ table), 1e-6)

    def light(self, table: Floats) -> tuple[Floats, Floats]:
        """Positions from the edge's own middle, and light there, 0 wood to 1 lamp, as a curve has it."""
        light = (self.codes @ table - float(self.wood @ table)) / self.span(table)
        # as much light is lost on the lamp's side as strays to the wood's
        middle = self.x_px[-1] - float(np.trapezoid(light, self.x_px))
        return self.x_px - middle, light


def leaf_ends(strip: Strip, ends: Ends) -> list[Edge]:
    """Up to four edges: both leaves at both ends, where the lamp beyond is seen and not cut off."""
    found = []
    tangent = np.sqrt(1 / strip.cosine**2 - 1) * np.sign(strip.rise)
    own = strip.s_px + strip.away_px * tangent
    for at, way, by in ((ends.from_px, -1, ends.by[0]), (ends.to_px, 1, ends.by[1])):
        if by != "lamp":
            continue
        for side in (-1, 1):
            x = (own - at) * way
            use = (np.abs(x) < _FAR_PX + 3) & (side * strip.away_px > _ASIDE_PX) & strip.inside
            edge = _edge(x[use], side * strip.away_px[use], strip.luma[use], strip.clipped[use])
            if edge is not None:
                found.append(edge)
    return found


def _edge(x: Floats, away: Floats, luma: NDArray[np.uint8], over: NDArray[np.bool_]) -> Edge | None:
    """One edge, its lean against the seam's square taken out."""
    if x.size < 200 or over.mean() > 0.01:
        return None
    light = Tone().table()[luma]
    dark, full = (float(np.median(light[sign * x > _NEAR_PX])) for sign in (-1, 1))
    if full - dark < _LEAST_STEP:
        return None
    # where each row of pixels turns from dark to light: its last pixel's far side less the lamp's share
    rows = np.rint(away).astype(int)
    rows -= rows.min()
    count = np.bincount(rows)
    last, first = np.full(len(count), -np.inf), np.full(len(count), np.inf)
    np.maximum.at(last, rows, x)
    np.minimum.at(first, rows, x)
    good = count >= 2 * _FAR_PX
    if np.count_nonzero(good) < 8:
        return None
    step = (last - first)[good] / (count[good] - 1)
    lit = np.bincount(rows, np.clip((light - dark) / (full - dark), 0.0, 1.2))[good]
    turns = last[good] + step / 2 - step * lit
    straight = x - np.polyval(np.polyfit(np.flatnonzero(good), turns, 1), rows)
    cells = np.rint(straight * _PER_PX).astype(int)
    near = np.abs(straight) <= _NEAR_PX
    index = cells[near] - cells[near].min()
    codes = np.zeros((index.max() + 1, 256))
    np.add.at(codes, (index, luma[near]), 1.0)
    seen = codes.sum(axis=1)
    place = np.bincount(index, straight[near]) / np.maximum(seen, 1)
    codes, place, seen = codes[seen > 1], place[seen > 1], seen[seen > 1]
    if len(place) < _NEAR_PX or np.diff(place).max() > 1.2:
        return None
    plain = [_share(luma[(sign * straight > _NEAR_PX) & (sign * straight < _FAR_PX)]) for sign in (-1, 1)]
    return Edge(place, codes / seen[:, None], plain[0], plain[1])


def _share(luma: NDArray[np.uint8]) -> Floats:
    return np.asarray(np.bincount(luma, minlength=256) / max(len(luma), 1), dtype=np.float64)
