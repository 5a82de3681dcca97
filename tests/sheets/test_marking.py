"""The marking sheet: one page, every figure and every warning on it."""

from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from painted import painted_layout
from pypdf import PdfReader

from seamlight.layout.opening import Layout
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.bench import spread
from seamlight.sheets.marking import marking_sheet
from seamlight.sheets.page import PAPER_MM
from seamlight.sheets.setting_out import set_out
from seamlight.sheets.steps import rows
from seamlight.units import said_in

Flats = tuple[FlatLeaf, FlatLeaf]
DAY = date(2026, 11, 25)


def text_of(path: Path) -> str:
    (page,) = PdfReader(path).pages
    return " ".join(page.extract_text().split())


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_one_page_with_every_figure(tmp_path: Path, flats: Flats, paper: str, units: str) -> None:
    layout = painted_layout(wedge_angle_deg=1.0)
    path = tmp_path / "sheet.pdf"
    marking_sheet(layout, 1, *flats, path, paper=paper, units=units, label="cedar-07", made_on=DAY)
    page = PdfReader(path).pages[0].mediabox
    assert (float(page.width) / 72 * 25.4, float(page.height) / 72 * 25.4) == pytest.approx(PAPER_MM[paper])
    text = text_of(path)
    for row in rows(set_out(layout, layout.openings[1], units), units):
        for cell in row:
            assert cell in text
    assert "cedar-07" in text
    assert "2026-11-25" in text
    assert "Not to scale: use the figures" in text
    assert "Safety" in text
    for reason in layout.openings[1].reasons:
        assert said_in(reason, units)[1:] in text


@pytest.mark.parametrize("n", range(4))
def test_names_leaf_face_edge_and_end(tmp_path: Path, layout: Layout, flats: Flats, n: int) -> None:
    path = tmp_path / "sheet.pdf"
    marking_sheet(layout, n, *flats, path, made_on=DAY)
    text = text_of(path)
    opening = layout.openings[n]
    assert "Leaf A, sawn face up" in text
    assert f"Joint on the {opening.joint_edge} edge, neck toward end {opening.neck_end}." in text
    assert f"{opening.joint_edge.upper()} EDGE: joint, from end 1" in text
    assert f"END 1, away ({'neck' if opening.neck_end == 1 else 'tail'})" in text


def test_long_warnings_stand_in_full(tmp_path: Path, layout: Layout, flats: Flats) -> None:
    said = tuple(
        f"warning {i}: the scale rests on one target sheet alone, so the far end may be off by {i} tenths"
        for i in range(24)
    )
    path = tmp_path / "sheet.pdf"
    marking_sheet(replace(layout, warnings=said), 3, *flats, path, units="inch", made_on=DAY)
    text = text_of(path)
    for warning in said:
        assert warning[1:] in text
    assert "two wings" in text.lower()
    assert "short by" in text


def test_without_b_the_sheet_says_so(tmp_path: Path, layout: Layout, flats: Flats) -> None:
    path = tmp_path / "sheet.pdf"
    marking_sheet(layout, 0, flats[0], None, path, made_on=DAY)
    assert "Leaf B was not photographed" in text_of(path)


def test_b_photographed_other_face_up(tmp_path: Path, layout: Layout, flats: Flats) -> None:
    path = tmp_path / "sheet.pdf"
    turned = replace(layout, registration=replace(layout.registration, b_shows="other"))
    marking_sheet(turned, 0, *flats, path, made_on=DAY)
    assert "Leaf B, other face up" in text_of(path)


def test_a_leaf_that_shows_its_other_face_is_turned_over(layout: Layout) -> None:
    shown = layout.openings[0]
    assert "turned over" not in str(rows(set_out(layout, shown, "mm"), "mm")[0])
    swapped = "right" if shown.a_is == "left" else "left"
    other = replace(shown, a_is=swapped, show_face="other")
    _, *cells = rows(set_out(layout, other, "mm"), "mm")[0]
    for cell in cells:
        assert "Opened, turned over from how it is marked, it is the" in cell


def test_same_input_same_bytes(tmp_path: Path, layout: Layout, flats: Flats) -> None:
    first, second = tmp_path / "1.pdf", tmp_path / "2.pdf"
    for path in (first, second):
        marking_sheet(layout, 0, *flats, path, made_on=DAY)
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize(("index", "paper"), [(4, "a4"), (-1, "a4"), (0, "a5"), (0, "roll")])
def test_no_such_opening_or_paper(
    tmp_path: Path, layout: Layout, flats: Flats, index: int, paper: str
) -> None:
    with pytest.raises(Mistake):
        marking_sheet(layout, index, *flats, tmp_path / "x.pdf", paper=paper, made_on=DAY)
    assert not list(tmp_path.iterdir())


def test_places_are_spread_in_order() -> None:
    places = spread([100.0, 99.0, 20.0, 19.5], 6.0, 101.0, 10.0)
    assert all(a - b >= 6.0 - 1e-9 for a, b in pairwise(places))
    assert places[-1] >= 10.0
