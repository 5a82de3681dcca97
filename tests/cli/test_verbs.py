"""The command line by running it: its documents, its files, and that it agrees with the Python calls."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from seamlight.cli.schema import DOCUMENTS
from seamlight.grain.document import ReadDocument
from seamlight.grain.photograph import ReadSettings, read_photograph
from seamlight.layout.document import LayoutDocument
from seamlight.photo import parse_scale


def test_read_prints_one_document_that_is_the_python_calls(run, photographs, tmp_path) -> None:
    field = tmp_path / "field.npz"
    picture = tmp_path / "reading.png"
    done = run(
        "read", photographs["a"], "--thickness", "4.5", "--end", photographs["end"],
        "--field", field, "--picture", picture, "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["schema"] == "seamlight/read/1"
    settings = ReadSettings(scale=parse_scale("tags"), thickness_mm=4.5)
    reading = read_photograph(photographs["a"], settings, end=photographs["end"])
    assert document == json.loads(ReadDocument.of(reading).to_json())
    assert document["grain"]["ring_to_face_deg"] is not None
    assert document["grain"]["quarter_sawn"]["from_deg"] == 60
    arrays = np.load(field)
    assert set(arrays) == {"x_mm", "y_mm", "angle_deg", "spacing_mm", "coherence"}
    assert arrays["angle_deg"].shape == (arrays["y_mm"].size, arrays["x_mm"].size)
    assert np.diff(arrays["x_mm"]).max() <= 5.0 + 1e-9
    assert np.diff(arrays["y_mm"]).max() <= 5.0 + 1e-9
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_length_may_be_typed_in_inches(run, photographs) -> None:
    mm = json.loads(run("read", photographs["a"], "--thickness", "4.7625", "--no-flaws", "--json").stdout)
    inch = json.loads(run("read", photographs["a"], "--thickness", "3/16in", "--no-flaws", "--json").stdout)
    assert mm == inch


def test_what_a_person_says_of_flaws_wins(run, photographs, tmp_path) -> None:
    edits = tmp_path / "flaws.json"
    knot = {"kind": "knot", "outline_mm": [[100, 200], [108, 200], [104, 209]]}
    edits.write_text(json.dumps({"add": [knot]}))
    done = run("read", photographs["a"], "--thickness", "4.5", "--flaws", edits, "--json")
    flaws = json.loads(done.stdout)["flaws"]
    assert flaws[-1]["kind"] == "knot"
    assert flaws[-1]["outline_mm"] == knot["outline_mm"]
    assert flaws[-1]["sure"] == 1
    x0, y0, x1, y1 = flaws[-1]["box_px"]
    assert x1 > x0
    assert y1 > y0


def test_layout_prints_its_document_and_writes_picture_and_sheet(run, photographs, tmp_path) -> None:
    picture, sheet = tmp_path / "openings.png", tmp_path / "marking.pdf"
    done = run(
        "layout", photographs["a"], photographs["b"], "--outline", "parlour", "--thickness", "4.5",
        "--picture", picture, "--sheet", sheet, "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    document = LayoutDocument.model_validate_json(done.stdout)
    assert len(document.openings) == 4
    assert {(o.joint_edge, o.neck_end) for o in document.openings} == {
        ("left", 1), ("left", 2), ("right", 1), ("right", 2),
    }  # fmt: skip
    assert document.pair.match is not None
    assert document.pair.match > 0.7
    for opening in document.openings:
        halves = (opening.joint_edge, opening.neck_end) in {("right", 1), ("left", 2)}
        assert opening.a_is == ("left" if halves else "right")
    fits = [o.fits for o in document.openings]
    assert fits == sorted(fits, reverse=True)
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert sheet.read_bytes().startswith(b"%PDF")


def test_without_b_the_mirrored_flaws_are_listed(run, photographs, tmp_path) -> None:
    edits = tmp_path / "flaws.json"
    knot = {"kind": "knot", "outline_mm": [[100, 200], [108, 200], [104, 209]]}
    edits.write_text(json.dumps({"add": [knot]}))
    done = run(
        "layout", photographs["a"], "--outline", "parlour", "--thickness", "4.5", "--flaws", edits, "--json"
    )
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    a, b = document["flaws"]["a"], document["flaws"]["b"]
    assert len(a) == len(b) > 0
    mirrored = sorted((-x, y) for x, y in b[-1]["outline_mm"])
    moved = np.subtract(sorted(map(tuple, a[-1]["outline_mm"])), mirrored)
    assert np.ptp(moved, axis=0) == pytest.approx([0, 0], abs=0.01)
    assert a[-1]["box_px"] == b[-1]["box_px"]
    for opening in document["openings"]:
        for inside in opening["flaws_inside"]:
            assert inside["flaw"] < len(document["flaws"][inside["leaf"]])


def test_other_faces_make_four_more_openings(run, photographs) -> None:
    done = run(
        "layout", photographs["a"], "--outline", "parlour", "--thickness", "4.5",
        "--other-a", photographs["other"], "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    openings = json.loads(done.stdout)["openings"]
    assert len(openings) == 8
    by_key = {(o["joint_edge"], o["neck_end"], o["show_face"]): o for o in openings}
    for (edge, end, face), opening in by_key.items():
        if face == "sawn":
            turned = by_key[edge, end, "other"]
            assert turned["a_is"] != opening["a_is"]
            assert turned["leaves"]["a"]["joint_line_mm"] == opening["leaves"]["a"]["joint_line_mm"]


def test_the_table_is_for_people(run, photographs) -> None:
    done = run(
        "layout", photographs["a"], photographs["b"], "--outline", "jumbo", "--thickness", "4.5",
        "--units", "inch", "--outline-units", "mm",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert "lengths in inches" in " ".join(done.stdout.split())


def test_rack_finds_the_pair_and_goes_on_after_a_bad_file(run, photographs, tmp_path) -> None:
    folder = tmp_path / "stack"
    folder.mkdir()
    for number, name in enumerate(("b", "a")):
        (folder / f"IMG_{number:04d}.jpg").write_bytes(photographs[name].read_bytes())
    (folder / "IMG_0002.jpg").write_bytes(b"no picture at all")
    out = tmp_path / "out"
    done = run(
        "rack",
        folder,
        "--outline",
        "parlour",
        "--outline",
        "jumbo",
        "--thickness",
        "4.5",
        "--out",
        out,
        "--json",
    )
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["schema"] == "seamlight/rack/1"
    (pair,) = document["pairs"]
    assert {pair["a"], pair["b"]} == {"IMG_0000.jpg", "IMG_0001.jpg"}
    assert set(pair["best"]) == {"parlour", "jumbo"}
    assert [failed["file"] for failed in document["failed"]] == ["IMG_0002.jpg"]
    assert "reading: 3 of 3" in done.stderr
    assert len((out / "rack.csv").read_text().splitlines()) == 4
    assert (out / "contact-sheet.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("kind", ["pdf", "dxf", "svg"])
def test_the_outline_is_written_in_every_form(run, tmp_path: Path, kind: str) -> None:
    out = tmp_path / f"outline.{kind}"
    done = run("sheet", "outline", "--outline", "concert", "--out", out)
    assert done.returncode == 0, done.stderr
    assert out.stat().st_size > 1000


def test_target_and_marking_sheets_are_written(run, photographs, tmp_path) -> None:
    target, marking = tmp_path / "target.pdf", tmp_path / "marking.pdf"
    assert run("sheet", "target", "--paper", "letter", "--out", target).returncode == 0
    done = run(
        "sheet", "marking", photographs["a"], photographs["b"], "--outline", "parlour", "--thickness", "4.5",
        "--opening", "2", "--out", marking,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert target.read_bytes().startswith(b"%PDF")
    assert marking.read_bytes().startswith(b"%PDF")


def test_the_light_stand_is_written_on_both_papers(run, tmp_path: Path) -> None:
    for paper in ("a4", "letter"):
        out = tmp_path / f"{paper}.pdf"
        done = run("sheet", "light-stand", "--paper", paper, "--out", out)
        assert done.returncode == 0, done.stderr
        assert out.read_bytes().startswith(b"%PDF")
    done = run("sheet", "light-stand", "--out", tmp_path / "stand.dxf")
    assert done.returncode == 2
    assert "ends in .pdf" in done.stderr


SAME = {"edge": "seam", "deflect": "tap"}  # two verbs, one document


@pytest.mark.parametrize("verb", list(DOCUMENTS))
def test_every_document_has_its_schema(run, verb: str) -> None:
    schema = json.loads(run("schema", verb).stdout)
    assert schema["properties"]["schema"]["const"] == f"seamlight/{SAME.get(verb, verb)}/1"
    assert "warnings" in schema["properties"]
