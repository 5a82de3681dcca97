"""Labels on paper: the code read back by another library, every measure held against the printed page."""

import subprocess
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pypdf import PdfReader

from seamlight.mistake import Mistake
from seamlight.sheets.label_sheet import A4_3_BY_8, LETTER_3_BY_10, LabelSheet, usual_sheet
from seamlight.sheets.labels import Label, label_sheets
from seamlight.sheets.pair_labels import LabelFacts, pair_labels

DPI = 300
PX_PER_MM = DPI / 25.4
ODD = LabelSheet((210.0, 297.0), 11.3, 17.7, (52.5, 29.7), (61.1, 33.9), 3, 7)


def rendered(path: Path) -> list[NDArray[np.uint8]]:
    """Every page of a PDF as poppler prints it, grey."""
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", str(path), str(path.with_suffix(""))], check=True)
    pages = [cv2.imread(str(page), cv2.IMREAD_GRAYSCALE) for page in sorted(path.parent.glob("*.pgm"))]
    return [np.asarray(page, np.uint8) for page in pages]


def cut_out(page: NDArray[np.uint8], sheet: LabelSheet, place: int) -> NDArray[np.uint8]:
    """One label as it would be peeled off."""
    (x, y), (width, height) = sheet.corner_mm(place), sheet.label_mm
    left, top, right, bottom = (round(v * PX_PER_MM) for v in (x, y, x + width, y + height))
    return page[top:bottom, left:right]


@pytest.mark.parametrize("sheet", [A4_3_BY_8, LETTER_3_BY_10, ODD])
def test_the_code_of_each_label_opens_its_own_page(tmp_path: Path, sheet: LabelSheet) -> None:
    labels = [Label(f"T{n} A", f"http://192.168.178.120:8765/wood/pairs/{n}", ("leaf A",)) for n in range(7)]
    assert label_sheets(labels, sheet, tmp_path / "l.pdf", first=4) == 1
    (page,) = rendered(tmp_path / "l.pdf")
    for n, label in enumerate(labels):
        said, _, _ = cv2.QRCodeDetector().detectAndDecode(cut_out(page, sheet, 3 + n))
        assert said == label.address
    # places before the first free one, and those that are left, stay blank
    for place in (*range(3), *range(10, sheet.places)):
        assert cut_out(page, sheet, place).min() == 255


@pytest.mark.parametrize("sheet", [A4_3_BY_8, LETTER_3_BY_10, ODD])
def test_frames_lie_where_the_labels_do_within_two_tenths(tmp_path: Path, sheet: LabelSheet) -> None:
    """The frame's lines are looked for on the printed page, and all of them are found."""
    labels = [Label("T1", "http://a.b/1")] * sheet.places
    label_sheets(labels, sheet, tmp_path / "l.pdf", frames=True)
    (page,) = rendered(tmp_path / "l.pdf")
    height, width = page.shape
    assert width / PX_PER_MM == pytest.approx(sheet.page_mm[0], abs=0.2)
    assert height / PX_PER_MM == pytest.approx(sheet.page_mm[1], abs=0.2)
    dark = page < 240
    for place in (0, sheet.across - 1, sheet.places - 1):
        (x, y), (wide, high) = sheet.corner_mm(place), sheet.label_mm
        middle_x, middle_y = round((x + wide * 0.3) * PX_PER_MM), round((y + 0.7) * PX_PER_MM)
        down = np.flatnonzero(dark[:, middle_x]) / PX_PER_MM
        for edge in (y, y + high):
            inside = min(max(edge, 0.05), sheet.page_mm[1] - 0.05)
            assert np.abs(down - inside).min() <= 0.2
        along = np.flatnonzero(dark[middle_y]) / PX_PER_MM
        for edge in (x, x + wide):
            inside = min(max(edge, 0.05), sheet.page_mm[0] - 0.05)
            assert np.abs(along - inside).min() <= 0.2


def test_the_bar_stands_on_the_joint_edge(tmp_path: Path) -> None:
    facts = LabelFacts("T12", "top", "Sitka spruce", "http://a.b/12", joint_a="right", joint_b="left")
    label_sheets(pair_labels(facts, "leaves"), A4_3_BY_8, tmp_path / "l.pdf")
    (page,) = rendered(tmp_path / "l.pdf")
    a, b = (cut_out(page, A4_3_BY_8, place) for place in (0, 1))
    width_mm, height_mm = A4_3_BY_8.label_mm
    row = round(height_mm / 2 * PX_PER_MM)
    for image, from_mm in ((a, width_mm - 1.25 - 1.6), (b, 1.25)):
        strip = image[row, round((from_mm - 0.6) * PX_PER_MM) : round((from_mm + 2.2) * PX_PER_MM)] < 128
        found = np.flatnonzero(strip) / PX_PER_MM + from_mm - 0.6
        assert found.min() == pytest.approx(from_mm, abs=0.2)
        assert found.max() == pytest.approx(from_mm + 1.6, abs=0.2)


def test_a_leaf_says_its_letter_its_face_its_end_and_its_joint_edge(tmp_path: Path) -> None:
    facts = LabelFacts("T12", "top", "Sitka spruce", "http://a.b/12", "rack 3", "3 Mar 2026", "right", "left")
    assert [label.title for label in pair_labels(facts)] == ["T12", "T12 A", "T12 B"]
    assert [label.title for label in pair_labels(facts, "pair")] == ["T12"]
    label_sheets(pair_labels(facts), A4_3_BY_8, tmp_path / "l.pdf")
    text = PdfReader(tmp_path / "l.pdf").pages[0].extract_text()
    for words in ("T12 A", "leaf B, sawn face", "arrow to end 1", "joint edge: right", "rack 3"):
        assert words in text
    unknown = pair_labels(LabelFacts("T12", "top", "", "http://a.b/12"), "leaves")
    assert unknown[0].joint is None
    assert "joint edge: mark it" in unknown[0].lines


def test_as_many_sheets_as_are_needed(tmp_path: Path) -> None:
    labels = [Label(f"T{n}", f"http://a.b/{n}") for n in range(25)]
    assert label_sheets(labels, A4_3_BY_8, tmp_path / "l.pdf", first=24) == 2
    pages = PdfReader(tmp_path / "l.pdf").pages
    assert ["T0" in page.extract_text() for page in pages] == [True, False]
    assert float(pages[1].mediabox.width) == pytest.approx(210 / 25.4 * 72)
    assert pages[1].extract_text().count("T") == 24


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"label_mm": (80.0, 36.0)}, "overlap"),
        ({"label_mm": (29.0, 36.0)}, "no room for a code"),
        ({"left_mm": 1.0}, "beyond the paper's right edge"),
        ({"top_mm": 10.0}, "beyond the paper's lower edge"),
        ({"left_mm": -1.0}, "beyond the paper's right edge"),
        ({"across": 0}, "1 to 500 labels"),
    ],
)
def test_measures_that_cannot_be_are_refused(tmp_path: Path, change: dict[str, object], words: str) -> None:
    sheet = LabelSheet(**{**vars(A4_3_BY_8), **change})  # type: ignore[arg-type]
    with pytest.raises(Mistake, match=words):
        label_sheets([Label("T1", "http://a.b/1")], sheet, tmp_path / "l.pdf")
    assert not (tmp_path / "l.pdf").exists()


def test_other_mistakes_are_told(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="nothing to label"):
        label_sheets([], A4_3_BY_8, tmp_path / "l.pdf")
    with pytest.raises(Mistake, match="no place 25"):
        label_sheets([Label("T1", "http://a.b/1")], A4_3_BY_8, tmp_path / "l.pdf", first=25)
    small = LabelSheet((210.0, 297.0), 5.0, 5.0, (38.0, 21.0), (38.0, 21.0), 5, 13)
    with pytest.raises(Mistake, match="too fine to read"):
        label_sheets([Label("T1", "http://a.b/" + "x" * 300)], small, tmp_path / "l.pdf")
    with pytest.raises(Mistake, match="no label sheet on a3"):
        usual_sheet("a3")


@given(
    left=st.floats(0, 20),
    top=st.floats(0, 20),
    width=st.floats(30, 90),
    height=st.floats(18, 60),
    gaps=st.tuples(st.floats(0, 5), st.floats(0, 5)),
    across=st.integers(1, 5),
    down=st.integers(1, 14),
)
@settings(max_examples=80, deadline=None)
def test_what_is_let_pass_lies_on_the_paper_and_never_overlaps(
    left: float,
    top: float,
    width: float,
    height: float,
    gaps: tuple[float, float],
    across: int,
    down: int,
) -> None:
    pitch = width + gaps[0], height + gaps[1]
    sheet = LabelSheet((210.0, 297.0), left, top, (width, height), pitch, across, down)
    try:
        sheet.checked()
    except Mistake:
        assert left + (across - 1) * pitch[0] + width > 210 or top + (down - 1) * pitch[1] + height > 297
        return
    corners = [sheet.corner_mm(place) for place in range(sheet.places)]
    assert all(x + width <= 210.06 and y + height <= 297.06 for x, y in corners)
    for (x0, y0), (x1, y1) in pairwise(corners):
        assert x1 >= x0 + width - 1e-9 or y1 >= y0 + height - 1e-9
