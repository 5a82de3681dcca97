"""The fast search: the best place of the same grid, found layer by layer in the key's own order.

Layers (tilts) that cannot hold the best place are left out: first those where nothing fits, then those whose
best flaw zone and grain at the seam are worse, so that the costly parts are asked of few places.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.best_slip import search_slip
from seamlight.layout.blocks import NOWHERE, Block, Cut, fitting_block, overlap, worse
from seamlight.layout.body import STRIP_MM
from seamlight.layout.domain import Domain, Found, Spot, wide_shifts
from seamlight.layout.layers import Turner
from seamlight.layout.least_short import least_short
from seamlight.layout.roomiest import Tied, roomiest
from seamlight.layout.score import figure_tenths, lost

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


def search(domain: Domain, turner: Turner) -> Found:
    """The best place of the grid and its key: what the exhaustive search finds.

    Raises:
        ValueError: no place of the grid has wood at the joint.
    """
    if domain.slip:
        return search_slip(domain, turner)
    return _best_of(domain, turner, _fitting(domain, turner) or least_short(domain, turner))


def _fitting(domain: Domain, turner: Turner) -> list[tuple[Block, Block]]:
    """Both sides' blocks at every tilt where some place fits both."""
    found = []
    for tilt in domain.tilts_deg:
        a = fitting_block(domain.a, turner, tilt, domain.offsets_a, domain.shifts)
        b = a and fitting_block(domain.b, turner, tilt, a.offsets, wide_shifts(domain))
        if a is None or b is None:
            continue
        if any((worse_short(a, b, cut) == 0).any() for _, cut in _cuts(domain, a, b)):
            found.append((a, b))
    return found


def worse_short(a: Block, b: Block, cut: Cut) -> Ints:
    """How short the worse leaf is where two blocks meet."""
    return np.maximum(a.short[cut.a], b.short[cut.b])


def _cuts(domain: Domain, a: Block, b: Block) -> Iterator[tuple[int, Cut]]:
    for step in domain.slides:
        cut = overlap(domain, a.offsets, b.offsets, a.shifts, b.shifts, step)
        if cut is not None:
            yield step, cut


def _best_of(domain: Domain, turner: Turner, blocks: list[tuple[Block, Block]]) -> Found:
    """The best place within blocks of both sides."""
    layers, coarse = [], NOWHERE
    # the straightest first: then most of the rest need only be asked whether a better zone can be had there
    for a, b in sorted(blocks, key=lambda pair: max(int(x.grain(turner).min()) for x in pair)):
        coarse_a = a.coarse(turner, coarse)
        if not (coarse_a < NOWHERE).any():
            continue
        coarse_b = b.coarse(turner, coarse)
        meetings = [(step, cut, worse(coarse_a[cut.a], coarse_b[cut.b])) for step, cut in _cuts(domain, a, b)]
        least = min((int(m.min()) for *_, m in meetings), default=NOWHERE)
        coarse = min(coarse, least)
        layers.append((a, b, meetings, least))
    if coarse >= NOWHERE:
        raise ValueError("no place of the grid has wood at the joint")
    best, tied = NOWHERE, list[Tied]()
    for a, b, meetings, least in layers:
        for step, cut, codes in meetings if least == coarse else ():
            rows, columns = np.nonzero(codes == coarse)
            if not len(rows):
                continue
            tenths_a, tenths_b = (
                block.tenths(turner)[part][rows, columns] for block, part in ((a, cut.a), (b, cut.b))
            )
            whole = coarse + lost(tenths_a, tenths_b, figure_tenths(step * STRIP_MM, domain.figure_read))
            if int(whole.min()) < best:
                best, tied = int(whole.min()), []
            for i in np.flatnonzero(whole == best):
                tied.append(_tied(a, b, cut, step, int(rows[i]), int(columns[i])))
    return roomiest(domain, turner, best, tied)


def _tied(a: Block, b: Block, cut: Cut, step: int, row: int, column: int) -> Tied:
    """A place by its row and column where two blocks meet, with the room it has at most."""
    offset = a.offsets[cut.a[0].start + row] * STRIP_MM
    column_a, column_b = cut.a[1].start + column, cut.b[1].start + column
    room = min(a.greatest_mm[column_a], b.greatest_mm[column_b]) - offset
    shift = a.shifts[column_a] * STRIP_MM
    return Tied(float(room), Spot(a.tilt_deg, offset, shift, step * STRIP_MM, a.tilt_deg, offset))
