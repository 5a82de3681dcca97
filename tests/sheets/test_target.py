"""The printed target sheet: bars of 150 mm, tags that the reader finds, words that fit."""

import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from seamlight.mistake import Mistake
from seamlight.photo.tags import find_tags, group_sheets
from seamlight.photo.target import PAPER_MM, target_sheet
from seamlight.sheets.target import sheet_target

DPI = 300


def rendered(pdf: Path, dpi: int = DPI) -> np.ndarray:
    """(h, w) gray picture of the first page by poppler's pdftoppm."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("needs pdftoppm from poppler")
    stem = pdf.with_suffix("")
    subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", "-singlefile", pdf, stem], check=True)
    return cv2.imread(str(stem.with_suffix(".pgm")), cv2.IMREAD_GRAYSCALE)


@pytest.fixture(scope="module", params=[("a4", 1), ("letter", 12)])
def printed(request, tmp_path_factory):
    paper, number = request.param
    pdf = tmp_path_factory.mktemp("sheet") / "target.pdf"
    sheet_target(pdf, paper=paper, number=number)
    return target_sheet(paper, number), pdf, rendered(pdf)


def dark_run_mm(line: np.ndarray) -> float:
    """Length of the longest dark run in a line of pixels."""
    dark = np.concatenate([[False], line < 128, [False]]).astype(np.int8)
    starts, stops = np.flatnonzero(np.diff(dark) == 1), np.flatnonzero(np.diff(dark) == -1)
    return float((stops - starts).max() * 25.4 / DPI)


def test_both_bars_measure_150_mm(printed):
    sheet, _, picture = printed
    across, down = sheet.bars
    row = picture[round(across.from_mm[1] * DPI / 25.4)]
    column = picture[:, round(down.from_mm[0] * DPI / 25.4)]
    assert dark_run_mm(row) == pytest.approx(150.0, abs=0.2)
    assert dark_run_mm(column) == pytest.approx(150.0, abs=0.2)


def test_the_page_has_the_papers_size(printed):
    sheet, pdf, _ = printed
    box = PdfReader(pdf).pages[0].mediabox
    size = np.array([float(box.width), float(box.height)]) * 25.4 / 72
    assert size == pytest.approx(PAPER_MM[sheet.paper], abs=0.01)


def test_the_reader_finds_every_tag_where_it_was_drawn(printed):
    sheet, _, picture = printed
    rgb = np.repeat(picture[:, :, None], 3, axis=2)
    small = cv2.resize(rgb, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    found = group_sheets(find_tags(rgb, small, 2))
    assert [(one.paper, one.number, len(one.tags)) for one in found] == [(sheet.paper, sheet.number, 6)]
    off_mm = found[0].corners_px() * 25.4 / DPI - found[0].corners_mm()
    assert np.abs(off_mm).max() < 0.05


def test_the_rim_of_every_tag_is_white(printed):
    sheet, _, picture = printed
    for tag in sheet.tags:
        (left, top), (right, bottom) = tag.corners_mm[0], tag.corners_mm[2]
        rim = 5.0
        inner = [round(side * DPI / 25.4) for side in (left - 0.3, top - 0.3, right + 0.3, bottom + 0.3)]
        outer = [round(side * DPI / 25.4) for side in (left - rim, top - rim, right + rim, bottom + rim)]
        around = picture[outer[1] : outer[3], outer[0] : outer[2]].copy()
        around[inner[1] - outer[1] : inner[3] - outer[1], inner[0] - outer[0] : inner[2] - outer[0]] = 255
        assert around.min() > 250


def test_it_says_what_to_do(printed):
    sheet, pdf, _ = printed
    words = PdfReader(pdf).pages[0].extract_text()
    assert f"Target sheet {sheet.number}" in words
    assert words.count("it should be 150 mm") == 2
    assert "--scale tags=145.5" in words


def test_the_same_sheet_makes_the_same_file(tmp_path):
    for name in ("one.pdf", "two.pdf"):
        sheet_target(tmp_path / name, number=3)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


@pytest.mark.parametrize(("paper", "number"), [("a5", 1), ("a4", 0), ("a4", 41)])
def test_a_sheet_that_is_not_there_is_a_mistake_and_leaves_no_file(tmp_path, paper, number):
    with pytest.raises(Mistake):
        sheet_target(tmp_path / "target.pdf", paper=paper, number=number)
    assert list(tmp_path.iterdir()) == []
