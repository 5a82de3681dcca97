"""The years of a log: ring borders from pith to bark, and how dark the wood is at each radius."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from seamlight.demo.noise import F32, stream
from seamlight.demo.species import Species

Array = NDArray[np.float64]
TABLE_STEP_MM = 0.005


@dataclass(frozen=True, eq=False)
class Years:
    """Ring borders and looks, a row per year."""

    border_mm: Array  # (k + 1,) radii of the ring borders, rising from 0
    late_share: Array  # (k,)
    depth: Array  # (k,) how dark that year's latewood is

    def ring_number(self, radius_mm: Array) -> Array:
        """Years from the pith, with fractions, at a ring radius."""
        return np.interp(radius_mm, self.border_mm, np.arange(len(self.border_mm)))


def grow_years(
    seed: int,
    wood: Species,
    ring_mm: float,
    middle_mm: float,
    trend_per_mm: float,
    spread: float,
    end_mm: float,
) -> Years:
    """Grow ring by ring to `end_mm`; `ring_mm` is the width at the radius `middle_mm`.

    Widths follow a first-order autoregression from year to year (spread `spread`, carry 0.5) times a trend
    with the radius, so the mean stays near `ring_mm` and neighbours resemble each other.
    """
    dice = stream(seed, "years")
    border, carry = [0.0], 0.0
    while border[-1] < end_mm:
        carry = 0.5 * carry + np.sqrt(0.75) * spread * float(dice.standard_normal())
        grown = float(np.clip(1.0 + trend_per_mm * (border[-1] - middle_mm), 0.35, 2.2))
        border.append(border[-1] + ring_mm * grown * float(np.clip(1.0 + carry, 0.5, 1.7)))
    years = len(border) - 1
    return Years(
        np.array(border),
        wood.late_share * np.clip(1.0 + 0.22 * dice.standard_normal(years), 0.55, 1.6),
        np.clip(1.0 + 0.16 * dice.standard_normal(years), 0.6, 1.3),
    )


def darkness_table(years: Years, wood: Species, seed: int, soften_mm: float) -> F32:
    """How far from earlywood to latewood the colour stands, every TABLE_STEP_MM of ring radius.

    Softwood darkens through the year and drops sharply at the border; slow bands lie over it.
    """
    radius = np.arange(0.0, years.border_mm[-1], TABLE_STEP_MM)
    year = np.clip(np.searchsorted(years.border_mm, radius, side="right") - 1, 0, len(years.depth) - 1)
    width = np.diff(years.border_mm)[year]
    share = (radius - years.border_mm[year]) / width
    late = years.late_share[year]
    rise = np.clip((share - (1.0 - 1.7 * late)) / (1.35 * late), 0.0, 1.0)
    dark = wood.contrast * years.depth[year] * (rise * rise * (3.0 - 2.0 * rise)) + 0.06 * share
    dice = stream(seed, "bands")
    coarse = np.arange(0.0, radius[-1] + 1.0, 0.5)
    tones = dice.standard_normal(int(radius[-1] / 6.0) + 4)
    bands = gaussian_filter1d(np.interp(coarse, np.arange(len(tones)) * 6.0, tones), 5.0)
    slow = np.interp(radius, coarse, bands)
    dark = gaussian_filter1d(dark, max(soften_mm, 0.02) / TABLE_STEP_MM, truncate=3.0)
    return np.asarray(dark + wood.band * slow, dtype=np.float32)


def early_table(years: Years) -> F32:
    """1 at the start of each ring falling to 0 at its end, every TABLE_STEP_MM: where ring pores gather."""
    radius = np.arange(0.0, years.border_mm[-1], TABLE_STEP_MM)
    number = years.ring_number(radius)
    return np.asarray(1.0 - (number - np.floor(number)), dtype=np.float32)
