"""`sheet outline` with a maker's own measures, as a half template, in inches, left-handed."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from seamlight.cli.main import main

BODY = {
    "name": "school parlour",
    "length": 464,
    "upper bout width": 241,
    "upper bout from neck end": 99,
    "waist width": 194,
    "waist from neck end": 188,
    "lower bout width": 337,
    "lower bout from neck end": 348,
}


def words(path: Path) -> str:
    return " ".join(page.extract_text() for page in PdfReader(path).pages)


def test_options_reach_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own, out = tmp_path / "own.json", tmp_path / "own.pdf"
    own.write_text(json.dumps(BODY))
    sheet = ["sheet", "outline", "--outline", str(own), "--out", str(out), "--paper", "roll"]
    assert main([*sheet, "--half", "--left-handed", "--units", "inch"]) == 0
    printed = capsys.readouterr()
    assert "school parlour" in printed.out
    assert "generic parlour" in printed.err
    said = words(out)
    assert "half template" in said
    assert "BASS SIDE" in said  # the right half of a left-handed top
    assert "half waist 3 13/16 in" in said
    assert main(sheet) == 0
    said = words(out)
    assert "half template" not in said
    assert "waist 194.0 mm" in said


def test_a_half_of_unlike_halves_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own, out = tmp_path / "own.json", tmp_path / "own.pdf"
    own.write_text(json.dumps({**BODY, "cutaway": {"side": "right", "depth": 80, "width": 60}}))
    assert main(["sheet", "outline", "--outline", str(own), "--out", str(out), "--half"]) == 2
    assert "its halves differ" in capsys.readouterr().err
    assert not out.exists()
