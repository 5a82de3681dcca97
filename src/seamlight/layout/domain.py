"""Which places are tried: the grid that both searches share."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, half_body
from seamlight.layout.judge import Half, Place
from seamlight.layout.opening import Edge, LayoutSettings
from seamlight.layout.score import Key
from seamlight.layout.side import Side
from seamlight.outline.shape import Outline

Array = NDArray[np.float64]
TILT_STEP_DEG = 0.1
_BEYOND_WIDTH_MM = 30.0
_BEYOND_LENGTH_MM = 8.0


@dataclass(frozen=True, eq=False)
class Domain:
    """One opening's grid. Offsets and shifts are multiples of STRIP_MM, given as index ranges."""

    a: Half
    b: Half
    slip: bool
    tilts_deg: tuple[float, ...]
    offsets_a: range
    offsets_b: range  # the same joint as A's where the leaves are book-matched
    shifts: range  # of leaf A
    slides: range  # of leaf B in steps from where the figure meets
    registered_mm: float
    figure_read: bool = True  # False: nothing says where the figure meets, and slides count from end on end

    def slide_mm(self, step: float) -> float:
        """The slide of B, in the registration's measure."""
        return self.registered_mm + step * STRIP_MM

    def shift_b(self, shift_a_mm: float, moved_mm: float) -> float:
        """B's shift when it is moved toward A's end 2 from where the figure meets."""
        return shift_a_mm - moved_mm if self.a.neck_first else shift_a_mm + moved_mm


@dataclass(frozen=True)
class Spot:
    """Where the joint and the outline lie on both leaves; what the search varies."""

    tilt_deg: float
    offset_mm: float
    shift_mm: float
    moved_mm: float  # B toward A's end 2 from where the figure meets
    tilt_b_deg: float
    offset_b_mm: float

    def places(self, domain: Domain) -> tuple[Place, Place]:
        """The place on each leaf."""
        shift_b = domain.shift_b(self.shift_mm, self.moved_mm)
        return (
            Place(self.tilt_deg, self.offset_mm, self.shift_mm),
            Place(self.tilt_b_deg, self.offset_b_mm, shift_b),
        )


@dataclass(frozen=True, eq=False)
class Found:
    """The best place of a search and its key."""

    spot: Spot
    key: Key


def most_slide(registered_mm: float, settings: LayoutSettings) -> tuple[float, float]:
    """Least and greatest slide of B: what the shop allows, or as far as the figure asks if that is more."""
    return min(-settings.most_slide_mm, registered_mm), max(settings.most_slide_mm, registered_mm)


def domain_of(
    side_a: Side,
    side_b: Side,
    outline: Outline,
    settings: LayoutSettings,
    figure_meets_mm: float | None,
    joint_edge: Edge,
    neck_end: int,
    a_is: Edge,
) -> Domain:
    """The grid of one opening; `figure_meets_mm` is the registration's slide, None where it was not read."""
    registered_mm = figure_meets_mm or 0.0
    slip = settings.match == "slip"
    left, first = joint_edge == "left", neck_end == 1
    other: Edge = "right" if a_is == "left" else "left"
    a = Half(side_a, half_body(outline, a_is, settings), left, first)
    b = Half(side_b, half_body(outline, other, settings), left != slip, first)
    low, high = most_slide(registered_mm, settings)
    steps = round(settings.most_tilt_deg / TILT_STEP_DEG)
    offsets_a, offsets_b = _offsets((a,) if slip else (a, b)), _offsets((b,) if slip else (a, b))
    return Domain(
        a=a,
        b=b,
        slip=slip,
        tilts_deg=tuple(i / 10 for i in range(-steps, steps + 1)),
        offsets_a=offsets_a,
        offsets_b=offsets_b,
        shifts=_shifts(a, b),
        slides=range(
            ceil((low - registered_mm) / STRIP_MM - 1e-9), floor((high - registered_mm) / STRIP_MM + 1e-9) + 1
        ),
        registered_mm=registered_mm,
        figure_read=figure_meets_mm is not None,
    )


def _extent(half: Half) -> tuple[Array, Array]:
    """Least and greatest (u, v) of a half's sound wood, untilted."""
    uv = half.to_body(half.side.wood_mm, Place(0.0, 0.0, 0.0))
    return uv.min(axis=0), uv.max(axis=0)


def _offsets(halves: tuple[Half, ...]) -> range:
    """From the first wood at the joint edge to well beyond where the outline leaves the wood."""
    extents = [(*_extent(h), h.body) for h in halves]
    first = min(low[0] for low, _, _ in extents)
    inner = max(low[0] for low, _, _ in extents)
    free = max(0.0, *(high[0] - low[0] - body.widest_mm - body.trim_mm for low, high, body in extents))
    return range(floor(first / STRIP_MM), ceil((inner + free + _BEYOND_WIDTH_MM) / STRIP_MM) + 1)


def _shifts(a: Half, b: Half) -> range:
    """From one end flush to the other flush, on whichever leaf is longer, and a little beyond."""
    low = min(_extent(h)[0][1] for h in (a, b))
    high = max(_extent(h)[1][1] for h in (a, b)) - a.body.length_mm
    first, last = sorted((low, high))
    return range(
        floor((first - _BEYOND_LENGTH_MM) / STRIP_MM), ceil((last + _BEYOND_LENGTH_MM) / STRIP_MM) + 1
    )


def grid(indices: range) -> Array:
    """The places of an index range, mm."""
    return np.arange(indices.start, indices.stop, dtype=np.float64) * STRIP_MM


def wide_shifts(domain: Domain) -> range:
    """Shifts of leaf B: leaf A's, and as much more as the slide moves it."""
    extra = max(abs(domain.slides[0]), abs(domain.slides[-1]))
    return range(domain.shifts.start - extra, domain.shifts.stop + extra)
