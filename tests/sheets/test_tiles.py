"""Sheets cover the drawing, overlap, and are the fewest."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.sheets.page import MARGIN_MM, PAPER_MM
from seamlight.sheets.tiles import OVERLAP_MM, tiling

sizes = st.floats(20, 900)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["a4", "letter", "a3"]), sizes, sizes)
def test_every_place_is_on_a_sheet_and_neighbours_overlap(paper: str, width: float, height: float) -> None:
    box = (-width / 2, 0.0, width / 2, height)
    sheets = tiling(box, PAPER_MM[paper], MARGIN_MM)  # type: ignore[index]
    first, last = sheets.tiles[0], sheets.tiles[-1]
    assert first.left_mm <= box[0] + 1e-6
    assert first.top_mm <= box[1] + 1e-6
    assert last.left_mm + sheets.window_mm[0] >= box[2] - 1e-6
    assert last.top_mm + sheets.window_mm[1] >= box[3] - 1e-6
    for tile in sheets.tiles:
        right, below = sheets.tile(tile.row, tile.column + 1), sheets.tile(tile.row + 1, tile.column)
        if right is not None:
            assert tile.left_mm + sheets.window_mm[0] - right.left_mm == pytest.approx(OVERLAP_MM)
        if below is not None:
            assert tile.top_mm + sheets.window_mm[1] - below.top_mm == pytest.approx(OVERLAP_MM)
    other_way = tiling(box, PAPER_MM[paper][::-1], MARGIN_MM)  # type: ignore[index]
    assert len(other_way.tiles) == len(sheets.tiles)


def test_a_small_drawing_takes_one_sheet_and_the_grid_ends() -> None:
    sheets = tiling((0, 0, 100, 100), PAPER_MM["a4"], MARGIN_MM)
    assert len(sheets.tiles) == 1
    assert sheets.tile(0, 1) is None
    assert sheets.tile(-1, 0) is None


def test_no_join_runs_along_the_centre_line() -> None:
    sheets = tiling((-221, -5, 221, 535), PAPER_MM["a3"], MARGIN_MM)
    assert sheets.columns == 2
    join_mm = sheets.tiles[1].left_mm + OVERLAP_MM / 2
    assert abs(join_mm) > 20
