"""One side at one tilt, cropped to where a place may be, and where two such blocks meet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.domain import Domain
from seamlight.layout.judge import Half
from seamlight.layout.layers import OPEN, Turner, reach_of, seam_means, zones_of
from seamlight.layout.plates import parts_of
from seamlight.layout.score import NO_PLACE, coded, rounded

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
NOWHERE = int(coded(NO_PLACE, 0, 0, 0))


@dataclass(eq=False)
class Block:
    """Arrays are (offsets, shifts). `short` is NO_PLACE where no place is looked for."""

    half: Half
    tilt_deg: float
    offsets: range
    shifts: range
    short: Ints
    greatest_mm: Array  # (shifts,): the room at an offset is at most this less the offset
    kept_grain: Ints | None = None
    kept_tenths: Ints | None = None

    def cropped(self) -> Block:
        """The least block that holds every place looked for."""
        rows = np.flatnonzero((self.short < NO_PLACE).any(axis=1))
        columns = np.flatnonzero((self.short < NO_PLACE).any(axis=0))
        o, s = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
        return replace(
            self,
            offsets=self.offsets[o],
            shifts=self.shifts[s],
            short=self.short[o, s],
            greatest_mm=self.greatest_mm[s],
        )

    def grain(self, turner: Turner) -> Ints:
        """The grain to the seam, in tenths of a degree."""
        if self.kept_grain is None:
            raster = turner.raster(self.half, self.tilt_deg)
            self.kept_grain = np.zeros_like(self.short)
            if raster.angle_read:
                mean = seam_means(raster.angle_deg, raster, self.half.body, self.offsets, self.shifts)
                self.kept_grain = rounded(np.abs(mean), 10.0)
        return self.kept_grain

    def coarse(self, turner: Turner, known: int = NOWHERE) -> Ints:
        """The key's first three parts, coded; nowhere where a place coded `known` is surely better."""
        grain = self.grain(turner)
        most = OPEN
        if known < NOWHERE:
            least = int(grain[self.short < NO_PLACE].min(initial=1023))
            most = ((known >> 21) & 7) - (least > ((known >> 11) & 1023))
        if most < 0:
            return np.full_like(grain, NOWHERE)
        turned = turner.side(self.half, self.tilt_deg)
        zone = zones_of(turned, self.half.body, self.offsets, self.shifts, most)
        there = (self.short < NO_PLACE) & (zone <= OPEN)
        return np.where(there, coded(self.short, zone, grain, 0), NOWHERE)

    def tenths(self, turner: Turner) -> Ints:
        """The leaf's own remaining parts, in tenths of a point."""
        if self.kept_tenths is None:
            turned, raster = turner.side(self.half, self.tilt_deg), turner.raster(self.half, self.tilt_deg)
            parts = parts_of(turned, raster, self.half.body, self.offsets, self.shifts)
            self.kept_tenths = parts.tenths()
        return self.kept_tenths


def fitting_block(half: Half, turner: Turner, tilt_deg: float, offsets: range, shifts: range) -> Block | None:
    """Where one side fits at one tilt; None: nowhere."""
    reach = reach_of(turner.side(half, tilt_deg), half.body, offsets, shifts)
    if not reach.fits.any():
        return None
    short = np.where(reach.fits, 0, NO_PLACE)
    return Block(half, tilt_deg, offsets, shifts, short, reach.greatest_mm).cropped()


class Cut(NamedTuple):
    """The part of two blocks that meets: (rows, columns) of each."""

    a: tuple[slice, slice]
    b: tuple[slice, slice]


def overlap(
    domain: Domain, offsets_a: range, offsets_b: range, shifts_a: range, shifts_b: range, step: int
) -> Cut | None:
    """Where two blocks meet at one slide with one joint; None: nowhere."""
    rows = range(max(offsets_a.start, offsets_b.start), min(offsets_a.stop, offsets_b.stop))
    columns = meeting_shifts(domain, shifts_a, shifts_b, step)
    if not len(rows) or columns is None:
        return None
    return Cut((_within(rows, offsets_a), columns[0]), (_within(rows, offsets_b), columns[1]))


def meeting_shifts(domain: Domain, shifts_a: range, shifts_b: range, step: int) -> tuple[slice, slice] | None:
    """Which shifts of each leaf go together at one slide; None: none."""
    moved = step if domain.a.neck_first else -step
    both = range(max(shifts_a.start, shifts_b.start + moved), min(shifts_a.stop, shifts_b.stop + moved))
    if not len(both):
        return None
    return _within(both, shifts_a), _within(range(both.start - moved, both.stop - moved), shifts_b)


def _within(part: range, whole: range) -> slice:
    return slice(part.start - whole.start, part.stop - whole.start)


def worse(a: Ints, b: Ints) -> Ints:
    """The key's first parts of both leaves together: the worse of each part."""
    short = np.maximum(a >> 24, b >> 24)
    zone = np.maximum((a >> 21) & 7, (b >> 21) & 7)
    grain = np.maximum((a >> 11) & 1023, (b >> 11) & 1023)
    return coded(short, zone, grain, 0)
