"""The light stand: three pages, its measures and words on them, the same bytes each time."""

from pathlib import Path

import pytest
from pypdf import PdfReader

from seamlight.mistake import Mistake
from seamlight.sheets.light_stand import sheet_light_stand


@pytest.mark.parametrize(("paper", "wide_mm"), [("a4", 210.0), ("letter", 215.9)])
def test_three_pages_at_full_size(tmp_path: Path, paper: str, wide_mm: float) -> None:
    path = tmp_path / "stand.pdf"
    sheet_light_stand(path, paper)
    pages = PdfReader(path).pages
    assert len(pages) == 3
    assert float(pages[0].mediabox.width) / 72 * 25.4 == pytest.approx(wide_mm, abs=0.1)
    words = "".join(page.extract_text() for page in pages)
    for needed in (
        "diffuser",
        "phone",
        "shim, neck end",
        "Lock the exposure",
        "400",
        "150 mm",
        "cold lamp",
        "shims 0.127 and 0.254",
    ):
        assert needed in words
    again = tmp_path / "again.pdf"
    sheet_light_stand(again, paper)
    assert again.read_bytes() == path.read_bytes()


def test_no_such_paper(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="a4 or letter"):
        sheet_light_stand(tmp_path / "x.pdf", "a3")
