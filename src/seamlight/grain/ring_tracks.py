"""Ring lines followed from stretch to stretch along the upright picture.

The picture is averaged over stretches along the grain; dips of one stretch are joined to the nearest of the
next when each is the other's nearest. What goes on over several stretches is a line of the wood; what stands
alone is noise, a streak or a pore.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field_bands import Float32
from seamlight.grain.field_straight import Straight
from seamlight.grain.ragged import Rows
from seamlight.grain.ring_join import joined
from seamlight.grain.ring_profile import Bar, finer, rated_lines
from seamlight.grain.ring_sharpen import sharpened

Array = NDArray[np.float64]

STRETCH_MM = 36.0
STEP_MM = 12.0
APART = 3  # stretches: so far apart they share no wood
# in profiles that are averaged and sharpened; a weak dip counts where it goes on along much of the leaf
SURE = Bar(share=0.27, noise_times=3.2)
WEAK = Bar(share=0.19, noise_times=1.8)
FINER = 2  # profiles are drawn this many times finer
LEAST_LIKENESS = 0.55  # of profiles two stretches apart, for rings to be told


@dataclass(frozen=True, eq=False)
class Tracks:
    """Lines by stretches: X in the upright picture, NaN where a line does not reach; their likeness."""

    y_mm: Array  # (m,) middles of the stretches
    upright_mm: Array  # (lines, m)
    columns_mm: Array  # (n,) X of the upright picture's columns
    likeness: Array  # (m, n) correlation of each stretch's profile with those beyond its neighbours


def follow_lines(straight: Straight) -> Tracks:
    """Find the ring lines of the upright picture."""
    y_mm, profiles, seen = _profiles(straight)
    columns_mm = straight.columns_mm()
    profiles, noise = sharpened(profiles, seen, straight.column_mm, APART)
    likeness = _likeness(profiles, seen, straight.column_mm)
    step_mm = straight.column_mm / FINER
    darkness = _finer_darkness(profiles)
    lines = rated_lines(darkness, step_mm, noise, SURE, WEAK)
    on_wood = seen[lines.row, np.minimum(lines.at // FINER, seen.shape[1] - 1)]
    row, at, sure = lines.row[on_wood], lines.at[on_wood], lines.sure[on_wood]
    places = straight.start_mm + (finer(darkness, row, at) + 0.5) * step_mm
    return Tracks(y_mm, joined(places, sure, Rows(row, len(darkness))), columns_mm, likeness)


def _profiles(straight: Straight) -> tuple[Array, Float32, NDArray[np.bool_]]:
    rows = straight.figure.shape[0]
    high = min(rows, max(1, round(STRETCH_MM / straight.row_mm)))
    count = max(1, round((rows - high) * straight.row_mm / STEP_MM) + 1)
    tops = np.rint(np.linspace(0, rows - high, count)).astype(int)
    weight, figure = (_windows(part, tops, high) for part in (straight.weight, straight.figure))
    y_mm = np.asarray((tops + high / 2) * straight.row_mm, np.float64)
    mean = np.asarray(figure / np.maximum(weight, np.float32(1)), np.float32)
    return y_mm, mean, np.asarray(weight > 0.6 * high, np.bool_)


def _windows(picture: Float32, tops: NDArray[np.int64], high: int) -> Float32:
    """Sums over `high` rows from each of `tops`."""
    return np.stack([picture[top : top + high].sum(axis=0) for top in tops])


def _finer_darkness(profiles: Float32) -> Array:
    return -np.asarray(cv2.resize(profiles, None, fx=FINER, fy=1, interpolation=cv2.INTER_CUBIC), np.float64)


def _likeness(profiles: Float32, seen: NDArray[np.bool_], column_mm: float) -> Array:
    """Local correlation of each stretch with the next that shares no wood with it, the better of two."""
    wide = max(3, round(12.0 / column_mm))
    kept = profiles * seen

    def mean(picture: Float32) -> Float32:
        return np.asarray(cv2.blur(picture, (wide, 1)), np.float32)

    power = mean(kept * kept)
    best = np.full(profiles.shape, -1.0, np.float32)
    if len(profiles) > APART:
        cross = mean(kept[APART:] * kept[:-APART])
        like = cross / np.sqrt(np.maximum(power[APART:] * power[:-APART], 1e-12))
        best[APART:] = np.maximum(best[APART:], like)
        best[:-APART] = np.maximum(best[:-APART], like)
    return np.asarray(best, np.float64)
