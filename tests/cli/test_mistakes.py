"""What a person can get wrong: one line that says what to do, exit 2, nothing written."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
import pytest
from PIL import Image

from seamlight.cli.main import main


def _png(path: Path, picture: np.ndarray) -> Path:
    cv2.imwrite(str(path), picture)
    return path


def _truncated(folder: Path, photographs: dict[str, Path]) -> Path:
    path = folder / "cut.jpg"
    path.write_bytes(photographs["a"].read_bytes()[:40_000])
    return path


def _not_a_picture(folder: Path, _: dict[str, Path]) -> Path:
    path = folder / "notes.jpg"
    path.write_text("thickness 4.5, width 215")
    return path


def _three_leaves(folder: Path, _: dict[str, Path]) -> Path:
    picture = np.full((1500, 2400, 3), 40, np.uint8)
    for k in range(3):
        picture[200:1300, 200 + 700 * k : 700 + 700 * k] = (150, 190, 220)
    return _png(folder / "three.png", picture)


def _cut_off_heic(folder: Path, photographs: dict[str, Path]) -> Path:
    """A HEIC file that breaks off: in its pictures, or before what says where they are."""
    pillow_heif.register_heif_opener()
    whole = folder / "whole.heic"
    Image.open(photographs["a"]).reduce(4).save(whole)
    path = folder / "cut.heic"
    path.write_bytes(whole.read_bytes()[:200])
    whole.unlink()
    return path


CASES: dict[str, Callable[[Path, dict[str, Path]], Path]] = {
    "no such file": lambda folder, _: folder / "missing.jpg",
    "not a picture": _not_a_picture,
    "truncated": _truncated,
    "two pixels": lambda folder, _: _png(folder / "dot.png", np.zeros((1, 2, 3), np.uint8)),
    "all black": lambda folder, _: _png(folder / "black.png", np.zeros((1500, 2000, 3), np.uint8)),
    "no leaf": lambda folder, _: _png(folder / "bench.png", np.full((1500, 2000, 3), 90, np.uint8)),
    "three leaves": _three_leaves,
    "a HEIC cut off": _cut_off_heic,
}


@pytest.mark.parametrize("case", CASES)
def test_a_picture_that_can_not_be_read(case, photographs, tmp_path, capsys) -> None:
    path = CASES[case](tmp_path, photographs)
    out = tmp_path / "out.png"
    code = main(["read", str(path), "--scale", "4px/mm", "--picture", str(out)])
    printed = capsys.readouterr()
    assert code == 2
    assert printed.out == ""
    assert len(printed.err.strip().splitlines()) == 1
    assert path.name in printed.err
    assert "; " in printed.err, "says what to do"
    assert not list(tmp_path.glob("*out*"))
    assert not list(tmp_path.glob(".part-*"))


SAID = {
    "truncated": "cut short",
    "a HEIC cut off": "cut short",
    "no leaf": "no leaf found",
    "not a picture": "is not a picture",
}


@pytest.mark.parametrize("case", SAID)
def test_what_is_wrong_is_named(case, photographs, tmp_path, capsys) -> None:
    assert main(["read", str(CASES[case](tmp_path, photographs)), "--scale", "4px/mm"]) == 2
    assert SAID[case] in capsys.readouterr().err


def test_a_leaf_that_runs_out_of_the_picture(photographs, tmp_path, capsys) -> None:
    """Its near half: a sheet is in the picture, the leaf is cut off on three sides."""
    picture = cv2.imread(str(photographs["a"]))
    high, wide = picture.shape[:2]
    near = _png(tmp_path / "near.png", picture[int(0.3 * high) : int(0.75 * high), wide // 2 :])
    assert main(["read", str(near), "--thickness", "4.5"]) == 2
    said = capsys.readouterr().err
    assert "near.png: the leaf runs out of the picture; step back" in said
    assert said.count("\n") == 1


BAD_ARGUMENTS: dict[str, list[str]] = {
    "no verb": [],
    "no such verb": ["polish"],
    "no such outline": ["layout", "{a}", "--outline", "violin", "--scale", "4px/mm"],
    "no scale in the picture": ["read", "{blank}"],
    "a leaf of 56 x 21": ["read", "{a}", "--scale", "size=56x21"],
    "no such scale": ["read", "{a}", "--scale", "about right"],
    "a thickness of 45": ["read", "{a}", "--thickness", "45"],
    "a length that is none": ["layout", "{a}", "--outline", "parlour", "--trim", "a bit"],
    "a trim below 0": ["layout", "{a}", "--outline", "parlour", "--trim=-3"],
    "no such opening": ["layout", "{a}", "--outline", "parlour", "--opening", "9", "--sheet", "{out}"],
    "no such opening for the picture either": [
        "layout",
        "{a}",
        "--outline",
        "parlour",
        "--opening",
        "9",
        "--sheet",
        "{out}",
        "--picture",
        "{out}.png",
    ],
    "wedges of 95 degrees": ["layout", "{a}", "--outline", "parlour", "--wedge-angle", "95"],
    "one picture for both leaves": ["layout", "{a}", "{a}", "--outline", "parlour"],
    "no such folder": ["rack", "{folder}/nowhere", "--outline", "parlour"],
    "an empty folder": ["rack", "{empty}", "--outline", "parlour"],
    "flaws that are no JSON": ["read", "{a}", "--flaws", "{notes}"],
    "an outline that is no drawing": ["layout", "{a}", "--outline", "{dxf}"],
    "a target written as a picture": ["sheet", "target", "--out", "{folder}/target.jpg"],
    "a folder that is not there": ["sheet", "target", "--out", "{folder}/nowhere/target.pdf"],
}


@pytest.mark.parametrize("case", BAD_ARGUMENTS)
def test_arguments_that_are_wrong(case, photographs, tmp_path, capsys) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "notes.json").write_text("knot near the waist")
    (tmp_path / "body.dxf").write_text("not a drawing")
    picture = np.full((1500, 2000, 3), 40, np.uint8)
    picture[200:1300, 600:1100] = (150, 190, 220)
    before = {
        "a": photographs["a"],
        "blank": _png(tmp_path / "blank.png", picture),
        "folder": tmp_path,
        "empty": tmp_path / "empty",
        "notes": tmp_path / "notes.json",
        "dxf": tmp_path / "body.dxf",
        "out": tmp_path / "out.pdf",
    }
    there = sorted(tmp_path.rglob("*"))
    code = main([word.format(**before) for word in BAD_ARGUMENTS[case]])
    printed = capsys.readouterr()
    assert code == 2, printed
    assert printed.out == ""
    assert len(printed.err.strip().splitlines()) == 1, printed.err
    assert "Traceback" not in printed.err
    assert sorted(tmp_path.rglob("*")) == there


def test_edits_that_point_at_nothing(photographs, tmp_path, capsys) -> None:
    edits = tmp_path / "edits.json"
    edits.write_text(json.dumps({"drop": [99]}))
    assert main(["read", str(photographs["a"]), "--flaws", str(edits)]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_a_flaw_typed_off_the_leaf(photographs, tmp_path, capsys) -> None:
    edits = tmp_path / "edits.json"
    knot = {"kind": "knot", "outline_mm": [[1000, 2000], [1008, 2000], [1004, 2009]]}
    edits.write_text(json.dumps({"a": {"add": [knot]}}))
    call = [
        "layout",
        str(photographs["a"]),
        "--outline",
        "parlour",
        "--thickness",
        "4.5",
        "--flaws",
        str(edits),
    ]
    assert main(call) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert "add 0: x 1000 to 1008, y 2000 to 2009 mm lies off the leaf; draw it on the wood" in printed.err


@pytest.mark.parametrize(
    ("call", "ending"),
    [
        (["layout", "{photo}", "--outline", "parlour", "--sheet", "{folder}/x.png"], ".pdf"),
        (["layout", "{photo}", "--outline", "parlour", "--sheet", "{folder}/x"], ".pdf"),
        (["read", "{photo}", "--field", "{folder}/x.csv"], ".npz"),
    ],
)
def test_a_wrong_ending_is_refused_before_anything_is_read(call, ending, tmp_path, capsys) -> None:
    words = {"photo": tmp_path / "nothing-is-here.jpg", "folder": tmp_path}
    assert main([word.format(**words) for word in call]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert f"{tmp_path}/x" in said
    assert f"name a file that ends in {ending}" in said
    assert "nothing-is-here" not in said
    assert list(tmp_path.iterdir()) == []


def test_a_rack_does_not_start_where_it_can_not_write(photographs, tmp_path, capsys) -> None:
    taken = tmp_path / "rack"
    taken.write_text("a file, not a folder")
    folder = str(photographs["a"].parent)
    code = main(["rack", folder, "--outline", "parlour", "--out", str(taken)])
    printed = capsys.readouterr()
    assert code == 2
    assert printed.err.count("\n") == 1
    assert "--out" in printed.err
    assert taken.read_text() == "a file, not a folder"
