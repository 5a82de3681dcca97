"""Where nothing fits: the places that are least short, best bound first."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from seamlight.layout.blocks import Block, Cut, Ints, overlap
from seamlight.layout.domain import Domain, wide_shifts
from seamlight.layout.layers import Turner
from seamlight.layout.score import NO_PLACE
from seamlight.layout.shortness import ShortBlock


def least_short(domain: Domain, turner: Turner) -> list[tuple[Block, Block]]:
    """Both sides' blocks, one joint, that hold every place of least shortness."""
    wide = wide_shifts(domain)
    layers, best = [], NO_PLACE
    for tilt in sorted(domain.tilts_deg, key=abs):  # the straight ones first: they are seldom much shorter
        a = ShortBlock(domain.a, turner, tilt, domain.offsets_a, domain.shifts, best)
        b = ShortBlock(domain.b, turner, tilt, domain.offsets_b, wide, best)
        if (bound := _least_bound(domain, a, b)) <= best:
            best = _search(domain, a, b, best)
            layers.append((bound, a, b))
    found = []
    for bound, a, b in layers:
        pair = (as_block(a, best), as_block(b, best)) if bound <= best else (None, None)
        if pair[0] is not None and pair[1] is not None:
            found.append((pair[0], pair[1]))
    return found


def as_block(short: ShortBlock, most: int) -> Block | None:
    """A block of the places that are short by at most `most`; None: there are none."""
    known = short.known(most)
    if not (known < NO_PLACE).any():
        return None
    block = Block(short.half, short.tilt_deg, short.offsets, short.shifts, known, short.greatest_mm)
    return block.cropped()


def _least_bound(domain: Domain, a: ShortBlock, b: ShortBlock) -> int:
    return min((int(both.min()) for both, _ in _both(domain, a, b)), default=NO_PLACE)


def _both(domain: Domain, a: ShortBlock, b: ShortBlock) -> Iterator[tuple[Ints, Cut]]:
    """For each slide where the two blocks meet: the bound of both together, and where they meet."""
    for step in domain.slides:
        cut = overlap(domain, a.offsets, b.offsets, a.shifts, b.shifts, step)
        if cut is not None:
            yield np.maximum(a.bound[cut.a], b.bound[cut.b]), cut


def _search(domain: Domain, a: ShortBlock, b: ShortBlock, best: int) -> int:
    """The least shortness of one layer, or `best`; asks for every place that may be as good."""
    for both, cut in sorted(_both(domain, a, b), key=lambda item: int(item[0].min())):
        flat = np.flatnonzero(both <= min(best, NO_PLACE - 1))
        order = flat[np.argsort(both.ravel()[flat], kind="stable")]
        for place in order:
            row, column = divmod(int(place), both.shape[1])
            if both[row, column] > best:
                break
            one = a.at(cut.a[0].start + row, cut.a[1].start + column)
            if one <= best:
                best = min(best, max(one, b.at(cut.b[0].start + row, cut.b[1].start + column)))
    return best
