"""Pieces of one flaw in line along the grain become one find; what lies apart or side by side stays."""

from __future__ import annotations

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.grain.flaws_join import MOST_GAP_MM, joined
from seamlight.grain.flaws_regions import Region

LEAF = shapely.box(0, 0, 200, 560)


def band(left_mm: float, top_mm: float, wide_mm: float, long_mm: float, sure: float = 0.8) -> Region:
    return Region(shapely.box(left_mm, top_mm, left_mm + wide_mm, top_mm + long_mm), sure)


def test_a_band_broken_by_short_gaps_is_one_find() -> None:
    # out of order, leaning by 2 mm over its length
    pieces = [band(101, 150, 8, 60), band(100, 50, 8, 90), band(102, 220, 6, 100), band(102, 325, 6, 200)]
    (whole,) = joined(pieces, LEAF)
    assert all(whole.shape.buffer(1e-6).contains(piece.shape) for piece in pieces)
    assert whole.shape.area < 1.1 * sum(piece.shape.area for piece in pieces)


def test_a_long_gap_parts_two_flaws() -> None:
    assert len(joined([band(100, 50, 8, 60), band(100, 111 + MOST_GAP_MM, 8, 60)], LEAF)) == 2


def test_side_by_side_is_not_in_line() -> None:
    assert len(joined([band(100, 0, 2, 60), band(104, 0, 2, 60)], LEAF)) == 2
    assert len(joined([band(100, 0, 4, 60), band(103, 65, 4, 60)], LEAF)) == 2


def test_no_find_reaches_over_a_gap_in_the_wood() -> None:
    notched = LEAF.difference(shapely.box(0, 112, 150, 116))
    assert len(joined([band(100, 50, 8, 60), band(100, 118, 8, 60)], notched)) == 2


def test_the_larger_piece_says_more_of_how_sure() -> None:
    (whole,) = joined([band(100, 50, 8, 90, 0.9), band(100, 150, 8, 30, 0.7)], LEAF)
    assert 0.8 < whole.sure < 0.9


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 180), st.floats(0, 400), st.floats(2, 20), st.floats(2, 120)), max_size=6)
)
def test_nothing_found_is_lost(sizes: list[tuple[float, float, float, float]]) -> None:
    pieces = [band(*size) for size in sizes]
    whole = joined(pieces, LEAF)
    assert len(whole) <= len(pieces)
    every = shapely.union_all([region.shape for region in whole]).buffer(1e-3)
    assert all(every.contains(piece.shape.intersection(LEAF)) for piece in pieces)
