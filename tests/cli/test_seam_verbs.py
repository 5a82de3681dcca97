"""`edge` and `air` as a person runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from seamlight.cli.main import main
from seamlight.seam.bench import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.meaning import judge_readings
from seamlight.seam.readings import load_readings
from seamlight.timber.air import judge_air
from seamlight.timber.air_document import AirDocument

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def hump(tmp_path: Path) -> Path:
    path = tmp_path / "hump.csv"
    path.write_text("s_mm,gap_mm\n0,0.10\n100,0.05\n275,0\n450,0.05\n550,0.10\n", encoding="utf-8")
    return path


def json_of(capture: Capture) -> dict:
    said = capture.readouterr()
    assert said.err == ""
    return json.loads(said.out)


def test_edge_prints_one_document_that_is_the_python_calls(hump: Path, capsys: Capture) -> None:
    assert main(["edge", str(hump), "--of", "folded", "--room", "1.4", "--thickness", "4", "--json"]) == 0
    document = json_of(capsys)
    bench = Bench(room_mm=1.4)
    meaning = judge_readings(load_readings(hump), bench, of="folded")
    assert document == json.loads(SeamDocument.of_meaning(meaning, bench).to_json())
    assert document["schema"] == "seamlight/seam/1"
    assert document["shape"] == "hump"
    assert document["gap_mm"] == [0.2, 0.1, 0.0, 0.1, 0.2]
    assert document["pull_together"]["feasible"] is False


def test_edge_in_words_and_inches(hump: Path, capsys: Capture) -> None:
    assert main(["edge", str(hump), "--of", "joint", "--units", "inch"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Verdict: a few strokes")
    assert "thou" in said
    assert " mm" not in said


def test_earlier_readings_show_progress(hump: Path, tmp_path: Path, capsys: Capture) -> None:
    earlier = tmp_path / "earlier.json"
    assert main(["edge", str(hump), "--of", "folded", "--json"]) == 0
    earlier.write_text(capsys.readouterr().out, encoding="utf-8")
    assert main(["edge", str(hump), "--of", "joint", "--before", str(earlier), "--json"]) == 0
    assert json_of(capsys)["progress"]["ways"] == ["first", "better"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["edge", "{}/none.csv", "--of", "joint"], "no such file"),
        (["edge", "{csv}", "--of", "both"], "--of"),
        (["edge", "{csv}"], "--of"),
        (["edge", "{csv}", "--of", "joint", "--length", "300"], "beyond the joint"),
        (["edge", "{csv}", "--of", "joint", "--species", "sprooce"], "no species"),
        (["edge", "{csv}", "--of", "joint", "--width", "wide"], "not a length"),
        (["edge", "{csv}", "--of", "joint", "--thickness", "400"], "is no leaf"),
        (["edge", "{csv}", "--of", "joint", "--before", "{csv}"], "is no reading"),
        (["air", "--temp", "70", "--rh", "45"], "70F"),
        (["air", "--temp", "21", "--rh", "0.45"], "percent: 45"),
        (["air", "--temp", "warm", "--rh", "45"], "no temperature"),
        (["air", "--temp", "21", "--rh", "dry"], "no percentage"),
        (["air", "--temp", "21"], "--rh"),
        (["air", "--temp", "21", "--rh", "45", "--cut", "sideways"], "no cut"),
    ],
)
def test_mistakes_are_one_line(
    arguments: list[str], says: str, hump: Path, tmp_path: Path, capsys: Capture
) -> None:
    given = [one.replace("{csv}", str(hump)).replace("{}", str(tmp_path)) for one in arguments]
    assert main(given) == 2
    said = capsys.readouterr()
    assert says in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""


def test_air_prints_one_document_that_is_the_python_calls(capsys: Capture) -> None:
    given = ["--temp", "70F", "--rh", "45", "--to-rh", "30", "--width", "15in", "--species", "Sitka spruce"]
    assert main(["air", *given, "--json"]) == 0
    document = json_of(capsys)
    air = judge_air(38 / 1.8, 45, to_rh_pct=30, width_mm=381, species_name="Sitka spruce")
    assert document == json.loads(AirDocument.of(air).to_json())
    assert document["glue_ok"] is True
    assert document["movement_mm"] == pytest.approx(-1.3, abs=0.05)


def test_air_in_words(capsys: Capture) -> None:
    assert main(["air", "--temp", "21", "--rh", "67", "--to-rh", "45%", "--width", "381"]) == 0
    said = capsys.readouterr().out
    assert "No glue now" in said
    assert "narrower" in said
