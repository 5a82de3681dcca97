"""What stands on the outline's sheets, and what happens to a wrong wish."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from seamlight.mistake import Mistake
from seamlight.outline import for_back, named
from seamlight.sheets.outline import sheet_outline
from seamlight.sheets.outline_drawing import full_size

BODY = named("large auditorium")


def words(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)


@pytest.mark.parametrize(("paper", "count"), [("a4", 6), ("letter", 6), ("a3", 4), ("roll", 1)])
def test_every_sheet_says_what_it_is(tmp_path: Path, paper: str, count: int) -> None:
    path = tmp_path / "outline.pdf"
    sheet_outline(BODY, path, paper)
    pages = PdfReader(path).pages
    assert len(pages) == count
    for number, page in enumerate(pages, 1):
        text = page.extract_text()
        assert f"sheet {number} of {count}" in text
        assert "150 mm: measure both bars" in text
    everything = words(path)
    for said in (
        "NECK END",
        "TAIL END",
        "BASS SIDE",
        "TREBLE SIDE",
        "seen from outside",
        "508.0 mm, 20 in (20.000)",
    ):
        assert said in everything


def test_the_same_outline_makes_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.pdf", "b.pdf"):
        sheet_outline(BODY, tmp_path / name)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


@pytest.mark.parametrize(
    ("back", "left_handed", "left_side"),
    [
        (False, False, "BASS SIDE"),
        (True, False, "TREBLE SIDE"),
        (False, True, "TREBLE SIDE"),
        (True, True, "BASS SIDE"),
    ],
)
def test_bass_side_follows_from_hand_and_plate(back: bool, left_handed: bool, left_side: str) -> None:
    outline = for_back(BODY) if back else BODY
    drawing = full_size(outline, half=False, unit="mm", left_handed=left_handed)
    sides = {word.text: word.x_mm for word in drawing.words if word.text.endswith("SIDE")}
    assert sides.pop(left_side) < 0
    assert all(x > 0 for x in sides.values())


def test_a_half_template_has_the_centre_line_for_its_straight_edge() -> None:
    drawing = full_size(BODY, half=True, unit="inch", left_handed=False)
    edge = next(line.points for line in drawing.lines if line.role == "outline")
    assert edge[:, 0].min() == 0
    assert np.count_nonzero(edge[:, 0] == 0) == 2
    assert any("TREBLE SIDE" in word.text for word in drawing.words)


def test_a_name_in_other_letters_still_prints(tmp_path: Path) -> None:
    sheet_outline(replace(BODY, name="ギター ½"), tmp_path / "outline.pdf", "roll")
    assert "½" in words(tmp_path / "outline.pdf")


def test_wrong_wishes_are_mistakes_and_leave_nothing(tmp_path: Path) -> None:
    uneven = replace(BODY, left_half_mm=BODY.half_mm)
    for outline, name, paper, half in (
        (BODY, "outline.doc", "a4", False),
        (BODY, "outline.pdf", "a5", False),
        (BODY, "none/outline.pdf", "a4", False),
        (uneven, "outline.pdf", "a4", True),
    ):
        with pytest.raises(Mistake):
            sheet_outline(outline, tmp_path / name, paper, half=half)
    assert not list(tmp_path.iterdir())
