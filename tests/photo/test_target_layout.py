"""The target sheet's layout: every tag tells its sheet, and none is shared."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlight.photo.target import (
    PAPER_MM,
    SHEET_NUMBERS,
    TAG_CELLS,
    TAG_MM,
    place_of_tag,
    sheet_picture,
    tag_cells,
    tag_dictionary,
    target_sheet,
)

sheets = st.builds(target_sheet, st.sampled_from(["a4", "letter"]), st.integers(1, SHEET_NUMBERS))


@given(sheets)
def test_a_tag_tells_its_paper_its_number_and_its_place(sheet):
    for slot, tag in enumerate(sheet.tags):
        place = place_of_tag(tag.id)
        assert (place.paper, place.number, place.slot) == (sheet.paper, sheet.number, slot)


def test_no_two_sheets_share_a_tag_and_all_are_in_the_family():
    ids = [
        tag.id
        for paper in PAPER_MM
        for n in range(1, SHEET_NUMBERS + 1)
        for tag in target_sheet(paper, n).tags
    ]
    assert len(set(ids)) == len(ids)
    assert max(ids) < tag_dictionary().bytesList.shape[0]
    assert place_of_tag(max(ids) + 1) is None
    assert place_of_tag(-1) is None


@given(sheets)
def test_everything_stands_clear_of_the_papers_edge_and_of_the_white_rims(sheet):
    rim = TAG_MM / TAG_CELLS
    paper = np.array([sheet.width_mm, sheet.height_mm])
    for tag in sheet.tags:
        assert (tag.corners_mm >= rim + 5).all()
        assert (tag.corners_mm <= paper - rim - 5).all()
        low, high = tag.corners_mm[0] - rim, tag.corners_mm[2] + rim
        for bar in sheet.bars:
            start, stop = np.array(bar.from_mm), np.array(bar.to_mm)
            assert not ((np.maximum(start, low) <= np.minimum(stop, high)).all())
            assert np.linalg.norm(stop - start) == pytest.approx(150.0)


def test_the_picture_holds_the_tags_cells():
    sheet = target_sheet("letter", 2)
    picture = sheet_picture(sheet, 2.0)
    tag = sheet.tags[3]
    middles = (tag.corners_mm[0] + (np.arange(TAG_CELLS)[:, None] + 0.5) * TAG_MM / TAG_CELLS) * 2
    x, y = middles[:, 0].astype(int), middles[:, 1].astype(int)
    assert ((picture[np.ix_(y, x)] < 128) == tag_cells(tag.id)).all()
