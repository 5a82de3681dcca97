"""The end grain: at which angle the rings stand to the face, along the leaf's width."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from seamlight.grain.endgrain_lean import (
    PX_PER_MM,
    WINDOW_MM,
    Float32,
    even_figure,
    explained,
    upright_figure,
)
from seamlight.grain.endgrain_pith import Pith, common_pith, nearest_pith
from seamlight.grain.endgrain_strip import Strip, cut_strip
from seamlight.grain.endgrain_turn import likely_turns
from seamlight.grain.reading import EndGrain, Thirds
from seamlight.photo.flat import Rgb

Array = NDArray[np.float64]

# Quarter-sawn from 45, 60 or 75 degrees: published usages differ (a forest service's, a woodwork institute's,
# a retailer's), so it is a setting and nothing here depends on it.
QUARTERED_FROM_DEG = 60.0
EDGE_CALL_DEG = 1.5  # edges nearer alike than this: neither is called
STEP_MM = 2.0
LOOK_STEP_MM = 4.0  # the rings turn slowly: between so many mm they are drawn smoothly
THIN_LINE_MM, LINE_MM = 0.12, 0.15  # deviations that the picture is softened by
TURN_STEP_DEG = 3.0  # of the first look, every way round
LOOK_DEG, LOOK_STEP_DEG = 15.0, 1.25  # of the closer look, to either side of what the pith foretells
FAR_OFF_DEG = 6.0  # from the pith's circles: another look pays
CLOSEST_MM = 8.0  # to the pith: nearer, arcs are drawn no tighter
CALM_MM = 5.0  # deviation of the mean that calms what single places say
CLEARLY = 0.6  # by how much the best pith's evidence beats the middle one's where rings are told
MOST_DOUBT_DEG = 1.2  # deviation of what is told


def read_end(rgb: Rgb, width_mm: float, seen_from: Literal[1, 2] = 1) -> EndGrain:
    """Read the rings on a picture of a leaf's end.

    Args:
        rgb: the end from outside, the photographed face uppermost (level within some degrees).
        width_mm: the leaf's width at that end; it gives the scale.
        seen_from: which end. End 1 seen from outside, face up, shows the leaf's right edge at the left.

    Raises:
        Mistake: no end in the picture.
    """
    strip = cut_strip(rgb, width_mm)
    x_mm, angle = ring_to_face(strip)
    if seen_from == 1:
        x_mm, angle = (width_mm - x_mm)[::-1], angle[::-1]
    thirds = [_mean(angle[(x_mm >= k * width_mm / 3) & (x_mm < (k + 1) * width_mm / 3)]) for k in range(3)]
    return EndGrain(x_mm, angle, Thirds(*thirds), _quartered_edge(thirds[0], thirds[2]))


def is_quartered(ring_to_face_deg: float, from_deg: float = QUARTERED_FROM_DEG) -> bool:
    """Whether an angle counts as quarter-sawn, by the shop's own threshold."""
    return ring_to_face_deg >= from_deg


def ring_to_face(strip: Strip) -> tuple[Array, Array]:
    """Places along the strip (mm from its left) and the angle there, 0..90, NaN where no ring is told.

    Rings are nearly circles about one pith: the pith that suits all places together says where each place
    looks closer for the turn that the rings have there.
    """
    width_mm = strip.gray.shape[1] / strip.px_per_mm
    x_mm, looked_mm = _centres(width_mm, STEP_MM), _centres(width_mm, LOOK_STEP_MM)
    pith = _first_look(strip, looked_mm)
    if pith.clearly < CLEARLY:
        return x_mm, np.full(len(x_mm), np.nan)
    figure = upright_figure(strip, LINE_MM)
    off, doubt = _closer_look(figure, looked_mm, pith)
    if np.abs(off).max() > FAR_OFF_DEG:
        # the first look's pith was a coarse guess: once more from the one that suits what was seen
        pith = nearest_pith(looked_mm, pith.normal_deg(looked_mm) + off, pith.clearly)
        off, doubt = _closer_look(figure, looked_mm, pith)
    off = gaussian_filter1d(off, CALM_MM / LOOK_STEP_MM)
    told = np.interp(x_mm, looked_mm, doubt) < MOST_DOUBT_DEG
    normal = pith.normal_deg(x_mm) + np.interp(x_mm, looked_mm, off)
    # a ring runs square to its normal; its angle to the face is 90 less the normal's, whichever way it leans
    return x_mm, np.where(told, 90 - np.abs((normal + 90) % 180 - 90), np.nan)


def _first_look(strip: Strip, x_mm: Array) -> Pith:
    turns = np.arange(-90.0, 90.0, TURN_STEP_DEG)
    normal = np.repeat(turns[None, :], len(x_mm), axis=0)
    share = explained(even_figure(strip, THIN_LINE_MM), x_mm, normal, np.zeros(len(x_mm)))
    weak = np.percentile(share, 40, axis=1)[:, None]
    return common_pith(x_mm, turns, np.log(np.maximum(share, 1e-4) / np.maximum(weak, 1e-4)))


def _closer_look(figure: Float32, x_mm: Array, pith: Pith) -> tuple[Array, Array]:
    """At each place how far the rings are turned from the pith's circles, and the doubt in it; degrees."""
    turns = np.arange(-LOOK_DEG, LOOK_DEG + LOOK_STEP_DEG / 2, LOOK_STEP_DEG)
    normal = pith.normal_deg(x_mm)[:, None] + turns[None, :]
    bend = 1 / np.maximum(pith.radius_mm(x_mm), CLOSEST_MM)
    share = explained(figure, x_mm, normal, bend)
    seen_mm2 = np.sqrt(2 * np.pi) * WINDOW_MM * len(figure) / PX_PER_MM
    return likely_turns(share, turns, LOOK_STEP_MM, seen_mm2)


def _centres(length_mm: float, step_mm: float) -> Array:
    count = max(1, int(length_mm / step_mm))
    return np.asarray((np.arange(count) + 0.5) * length_mm / count, np.float64)


def _mean(angles: Array) -> float | None:
    read = angles[np.isfinite(angles)]
    return float(np.mean(read)) if len(read) and len(read) >= 0.3 * len(angles) else None


def _quartered_edge(left: float | None, right: float | None) -> str | None:
    if left is None or right is None or abs(left - right) < EDGE_CALL_DEG:
        return None
    return "left" if left > right else "right"
