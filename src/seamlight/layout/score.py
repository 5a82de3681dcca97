"""What makes one place better than another: the key that both searches maximise (docs/score.md)."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

# Points of the remaining parts: a leaf's own, 85 in all, then the pair's. Common practice, no source.
STRAIGHT, TIGHT, QUARTERED, EVEN, LITTLE_PLANED, FIGURE = 30.0, 20.0, 10.0, 15.0, 10.0, 15.0
STRAIGHT_TO_DEG = 5.0
EVEN_TO = 0.5
PLANED_TO_MM = 30.0
FIGURE_TO_MM = 12.0
SEAM_BAND_MM = 20.0
GRID_MM = 4.0
GRID_AT_MM = 0.25
UNREAD = 0.5  # share of a part's points where the wood was not read
NO_PLACE = 10_000_000  # shortness where the joint cannot be had at all

_BANDS = ((70.0, 30.0), (60.0, 10.0), (52.0, 8.0), (45.0, 7.0), (40.0, 5.0), (30.0, 10.0))
_GRAIN_HALVES_AT = 5.0  # steps of a tenth of a degree
_MOST_REST = 2000


@dataclass(frozen=True, order=True)
class Key:
    """Less is better, part by part in this order; equal to the last: equally good."""

    short: int  # hundredths of a millimetre; 0: fits
    zone: int  # the worst zone a flaw falls in, index into ZONES
    grain: int  # tenths of a degree at the seam, the worse leaf
    lost: int  # 2000 less the remaining parts in twentieths of a point
    tight: int  # less spare, hundredths of a millimetre
    flush: float  # less the room at the ends, mm: of places that tie in all else, the one in the middle

    @property
    def rest(self) -> float:
        """The remaining parts, 0..100."""
        return (_MOST_REST - self.lost) / 20


@dataclass(frozen=True, eq=False)
class Sums:
    """What is summed over a leaf's points inside the outline; arrays of any one shape.

    Angles are of the grain less the joint's, degrees; spacings in mm; `thirds` are the counts of points
    and sums of spacing from the joint outward.
    """

    count: Array
    angle: Array
    angle_squared: Array
    spacing: Array
    spacing_squared: Array
    third_counts: tuple[Array, Array, Array]
    third_spacings: tuple[Array, Array, Array]


@dataclass(frozen=True, eq=False)
class LeafParts:
    """A leaf's own parts of the score, as points; arrays of one shape."""

    straight: Array
    tight: Array
    quartered: Array
    even: Array
    little_planed: Array

    def tenths(self) -> Ints:
        """Their sum in whole tenths of a point."""
        total = self.straight + self.tight + self.quartered + self.even + self.little_planed
        return rounded(total, 10.0)


def rounded(value: Array, per_unit: float) -> Ints:
    """Whole steps nearest to a value; a hair under a half goes down, in whatever order it was summed."""
    return np.floor(np.asarray(value) * per_unit + 0.5 - 1e-6).astype(np.int64)


def spread_deg(s: Sums) -> Array:
    """Root mean square of the grain's angle to the joint over the plate."""
    return np.sqrt(np.maximum(s.angle_squared, 0.0) / np.maximum(s.count, 1))


def unevenness(s: Sums) -> Array:
    """Standard deviation of the spacing over its mean."""
    n = np.maximum(s.count, 1)
    mean = s.spacing / n
    variance = np.maximum(s.spacing_squared / n - mean**2, 0.0)
    return np.sqrt(variance) / np.maximum(mean, 1e-9)


def third_means(s: Sums) -> tuple[Array, Array, Array]:
    """Mean spacing near the joint, in the middle and near the edge."""
    joint, middle, edge = (
        t / np.maximum(n, 1) for n, t in zip(s.third_counts, s.third_spacings, strict=True)
    )
    return joint, middle, edge


def leaf_parts(
    sums: Sums, ring_to_face_deg: Array | None, planed_mm: Array, *, angle_read: bool, spacing_read: bool
) -> LeafParts:
    """Points of a leaf's own parts."""
    unread = np.full(np.shape(planed_mm), UNREAD)
    straight = np.clip(1 - spread_deg(sums) / STRAIGHT_TO_DEG, 0, 1) if angle_read else unread
    tight, even = unread, unread
    if spacing_read:
        joint, _, edge = third_means(sums)
        tight = np.clip(0.5 + 0.5 * np.log2(np.maximum(edge, 1e-6) / np.maximum(joint, 1e-6)), 0, 1)
        even = np.clip(1 - unevenness(sums) / EVEN_TO, 0, 1)
    quartered = np.clip(ring_to_face_deg / 90, 0, 1) if ring_to_face_deg is not None else unread
    planed = np.clip(1 - planed_mm / PLANED_TO_MM, 0, 1)
    return LeafParts(
        STRAIGHT * straight, TIGHT * tight, QUARTERED * quartered, EVEN * even, LITTLE_PLANED * planed
    )


def figure_tenths(from_registered_mm: float, figure_read: bool) -> int:
    """Points, in tenths, for how near the slide is to where the figure meets.

    Where the figure does not say where it meets: half the points, and fewer the further B is slid.
    """
    share = max(0.0, 1 - abs(from_registered_mm) / FIGURE_TO_MM) * (1.0 if figure_read else UNREAD)
    return int(rounded(np.array(FIGURE * share), 10.0))


def lost(tenths_a: Ints, tenths_b: Ints, figure: int) -> Ints:
    """What the remaining parts miss of 100, in twentieths: the mean of both leaves, and the figure."""
    return _MOST_REST - (tenths_a + tenths_b + 2 * figure)


def coded(short: Ints | int, zone: Ints | int, grain: Ints | int, missing: Ints | int) -> Ints:
    """The key less the spare as whole numbers that are ordered as it is."""
    return np.asarray(((np.asarray(short, dtype=np.int64) * 8 + zone) * 1024 + grain) * 2048 + missing)


@dataclass(frozen=True)
class Shown:
    """The score as shown, and what each part of the key gives of it."""

    fit: float
    flaws: float
    grain: float
    rest: float
    room: float

    @property
    def total(self) -> float:
        """0..100."""
        return self.fit + self.flaws + self.grain + self.rest + self.room


def shown(key: Key) -> Shown:
    """The key as points: a better key never shows fewer."""
    if key.short > 0:
        return Shown(30.0 * exp(-key.short / 100 / 40.0), 0.0, 0.0, 0.0, 0.0)
    floor, band = _BANDS[key.zone]
    above, here = (1 / (1 + n / _GRAIN_HALVES_AT) for n in (key.grain, key.grain + 1))
    step = band * (above - here) / (_MOST_REST + 1)
    spare = max(0.0, -key.tight / 100)
    return Shown(30.0, floor - 30.0, band * here, step * (_MOST_REST - key.lost), step * spare / (spare + 10))
