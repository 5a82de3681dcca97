"""The fast search of a slip-match: each leaf has a joint line of its own, tied only by where the body lies.

The key takes the worse of both leaves in its first parts and their mean in the rest, so that for a given
shift each leaf is best by itself: what is short, then zone and grain, then its own parts, then room.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.blocks import NOWHERE, Block, fitting_block, meeting_shifts
from seamlight.layout.body import STRIP_MM
from seamlight.layout.domain import Domain, Found, Spot, wide_shifts
from seamlight.layout.judge import Half, Place
from seamlight.layout.layers import Turner
from seamlight.layout.least_short import as_block
from seamlight.layout.roomiest import Tied, room_on_grid, roomiest
from seamlight.layout.score import NO_PLACE, coded, figure_tenths, lost
from seamlight.layout.shortness import ShortBlock

Ints = NDArray[np.int64]
_ZONES = 6


@dataclass(eq=False)
class _Leaf:
    """One leaf's blocks at all tilts and their coarse keys."""

    half: Half
    shifts: range
    blocks: list[Block]
    coarse: list[Ints]


def search_slip(domain: Domain, turner: Turner) -> Found:
    """The best place of the grid, each leaf with its own tilt and offset."""
    ranges = (
        (domain.a, domain.offsets_a, domain.shifts),
        (domain.b, domain.offsets_b, wide_shifts(domain)),
    )
    blocks = [
        [f for t in domain.tilts_deg if (f := fitting_block(half, turner, t, offsets, shifts)) is not None]
        for half, offsets, shifts in ranges
    ]
    if not _meet(domain, blocks, ranges):
        blocks = _least_short(domain, turner, ranges)
    a, b = (
        _Leaf(half, shifts, found, [block.coarse(turner) for block in found])
        for (half, _, shifts), found in zip(ranges, blocks, strict=True)
    )
    coarse = _best_coarse(domain, a, b)
    if coarse >= NOWHERE:
        raise ValueError("no place of the grid has wood at the joint")
    return _finish(domain, turner, a, b, coarse)


def _pairs(domain: Domain, shifts_a: range, shifts_b: range) -> Iterator[tuple[int, slice, slice]]:
    for step in domain.slides:
        both = meeting_shifts(domain, shifts_a, shifts_b, step)
        if both is not None:
            yield step, *both


def _meet(domain: Domain, blocks: list[list[Block]], ranges: tuple[tuple[Half, range, range], ...]) -> bool:
    """Whether some place fits both leaves."""
    fits = []
    for (_, _, shifts), found in zip(ranges, blocks, strict=True):
        any_at = np.zeros(len(shifts), dtype=np.bool_)
        for block in found:
            start = block.shifts.start - shifts.start
            any_at[start : start + len(block.shifts)] |= (block.short == 0).any(axis=0)
        fits.append(any_at)
    return any((fits[0][a] & fits[1][b]).any() for _, a, b in _pairs(domain, ranges[0][2], ranges[1][2]))


def _least_short(
    domain: Domain, turner: Turner, ranges: tuple[tuple[Half, range, range], ...]
) -> list[list[Block]]:
    """Each leaf's blocks that hold its places no shorter than the least that both can be at once."""
    pairs = list(_pairs(domain, ranges[0][2], ranges[1][2]))
    best, layers = NO_PLACE, list[list[ShortBlock]]()
    for tilts in ((0.0,), domain.tilts_deg):  # the straight one first, so that the rest need not look far
        layers = [
            [ShortBlock(half, turner, t, offsets, shifts, best) for t in tilts]
            for half, offsets, shifts in ranges
        ]
        least = [
            np.array([_exact_least(sides, column, best) for column in range(len(shifts))])
            for sides, (_, _, shifts) in zip(layers, ranges, strict=True)
        ]
        found = (int(np.maximum(least[0][a], least[1][b]).min()) for _, a, b in pairs)
        best = min(best, *found) if pairs else best
    for side in (block for sides in layers for block in sides):
        for row, column in np.argwhere(side.bound <= min(best, NO_PLACE - 1)):
            side.at(int(row), int(column))
    blocks = [[b for side in sides if (b := as_block(side, best)) is not None] for sides in layers]
    for block in (block for side in blocks for block in side):
        # the worse leaf decides: the other may be as short as it without being worse for it
        block.short = np.where(block.short < NO_PLACE, best, NO_PLACE)
    return blocks


def _exact_least(sides: list[ShortBlock], column: int, most: int) -> int:
    """The least shortness at one shift over all tilts and offsets; no place where it is more than `most`."""
    bounds = np.stack([side.bound[:, column] for side in sides])
    best = min(most + 1, NO_PLACE)
    for place in np.argsort(bounds, axis=None, kind="stable"):
        tilt, row = divmod(int(place), bounds.shape[1])
        if bounds[tilt, row] >= best:
            break
        best = min(best, sides[tilt].at(row, column))
    return best if best <= most else NO_PLACE


def _best_coarse(domain: Domain, a: _Leaf, b: _Leaf) -> int:
    """The best that both leaves can be at once in what is short, zone and grain."""
    best = NOWHERE
    least = [_least_grain(leaf) for leaf in (a, b)]
    for _, at_a, at_b in _pairs(domain, a.shifts, b.shifts):
        for zone in range(_ZONES):
            short, grain = (np.maximum(x[zone][at_a], y[zone][at_b]) for x, y in zip(*least, strict=True))
            best = min(best, int(coded(short, zone, grain, 0).min()))
    return best


def _least_grain(leaf: _Leaf) -> tuple[list[Ints], list[Ints]]:
    """By zone at worst and by shift: the least shortness, and the least grain of the places that have it."""
    shorts, grains = [], []
    for zone in range(_ZONES):
        best = np.full(len(leaf.shifts), NOWHERE)
        for block, coarse in zip(leaf.blocks, leaf.coarse, strict=True):
            plain = coded(coarse >> 24, 0, (coarse >> 11) & 1023, 0)
            plain = np.where((coarse < NOWHERE) & (((coarse >> 21) & 7) <= zone), plain, NOWHERE)
            start = block.shifts.start - leaf.shifts.start
            part = best[start : start + len(block.shifts)]
            np.minimum(part, plain.min(axis=0), out=part)
        shorts.append(best >> 24)
        grains.append((best >> 11) & 1023)
    return shorts, grains


@dataclass(frozen=True, eq=False)
class _Own:
    """The best of one leaf at one shift: its own parts, and the place with most room among those."""

    tenths: int
    places: list[tuple[float, Place]]


def _finish(domain: Domain, turner: Turner, a: _Leaf, b: _Leaf, coarse: int) -> Found:
    """Of places whose first parts are the best: the best in the rest."""
    own = [_own_best(leaf, turner, coarse) for leaf in (a, b)]
    best, tied = NOWHERE, list[tuple[int, int, int]]()
    for step, at_a, at_b in _pairs(domain, a.shifts, b.shifts):
        for i, j in zip(range(at_a.start, at_a.stop), range(at_b.start, at_b.stop), strict=True):
            if i in own[0] and j in own[1]:
                pair = np.array(own[0][i].tenths), np.array(own[1][j].tenths)
                code = coarse + int(lost(*pair, figure_tenths(step * STRIP_MM, domain.figure_read)))
                if code < best:
                    best, tied = code, []
                if code == best:
                    tied.append((step, i, j))
    spots = []
    for step, i, j in tied:
        room_a, place_a = _roomiest_place(a.half, own[0][i], turner)
        room_b, place_b = _roomiest_place(b.half, own[1][j], turner)
        spot = Spot(*place_a, step * STRIP_MM, place_b.tilt_deg, place_b.offset_mm)
        spots.append(Tied(min(room_a, room_b), spot))
    return roomiest(domain, turner, best, spots)


def _own_best(leaf: _Leaf, turner: Turner, coarse: int) -> dict[int, _Own]:
    """By shift: the best of a leaf's own parts among places whose first parts are good enough."""
    best: dict[int, _Own] = {}
    limit = coarse >> 24, (coarse >> 21) & 7, (coarse >> 11) & 1023
    for block, codes in zip(leaf.blocks, leaf.coarse, strict=True):
        parts = codes >> 24, (codes >> 21) & 7, (codes >> 11) & 1023
        good = (parts[0] <= limit[0]) & (parts[1] <= limit[1]) & (parts[2] <= limit[2])
        if not good.any():
            continue
        tenths = np.where(good, block.tenths(turner), -1)
        for column in np.flatnonzero(good.any(axis=0)):
            at, most = block.shifts[column] - leaf.shifts.start, int(tenths[:, column].max())
            places = [
                (
                    float(block.greatest_mm[column] - block.offsets[row] * STRIP_MM),
                    Place(block.tilt_deg, block.offsets[row] * STRIP_MM, block.shifts[column] * STRIP_MM),
                )
                for row in np.flatnonzero(tenths[:, column] == most)
            ]
            if at not in best or most > best[at].tenths:
                best[at] = _Own(most, places)
            elif most == best[at].tenths:
                best[at].places.extend(places)
    return best


def _roomiest_place(half: Half, own: _Own, turner: Turner) -> tuple[float, Place]:
    rooms = []
    best = -np.inf
    for most, place in sorted(own.places, key=lambda p: -p[0]):
        if most <= best:
            break
        rooms.append((room_on_grid(half, place, turner).spare_mm, place))
        best = max(best, rooms[-1][0])
    return max(rooms, key=lambda room: room[0])
