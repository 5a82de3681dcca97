"""The network's tiles: they cover everything once, and a seam between two changes nothing that matters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import saw, wood
from seamlight.grain import net


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 600))
def test_tiles_cover_every_row_once(blocks: int) -> None:
    size = blocks * net.MULTIPLE
    tiles = net._cuts(size)
    kept = [row for _, _, first, last in tiles for row in (first, last)]
    assert kept[0] == 0
    assert kept[-1] == size
    assert kept[1:-1:2] == kept[2::2]
    for start, end, first, last in tiles:
        assert start <= first < last <= end
        assert end - start <= net.TILE_PX
        assert start % net.MULTIPLE == 0
        assert end % net.MULTIPLE == 0
        assert first % 2 == 0


def test_a_leaf_in_tiles_reads_as_in_one(monkeypatch: pytest.MonkeyPatch) -> None:
    log = wood.grow_log(2200, species="western redcedar", knots=3, pitch=1)
    flat = saw.face(saw.saw_pair(log, 2200, length_mm=400, width_mm=150).a, "sawn", 2.0).as_flat()
    whole = net.likely_flaws(flat).likely
    monkeypatch.setattr(net, "TILE_PX", 512)
    tiled = net.likely_flaws(flat).likely
    assert (whole > 0.5).any()
    assert float(np.mean(np.abs(whole - tiled))) < 1e-3
    assert float(np.mean((whole > 0.5) != (tiled > 0.5))) < 5e-4
