"""The JSON of read, layout, rack and tone: every field that the contract fixes, and the verb's own schema.

The fields and what they hold are written out here from the contract, not taken from the program.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

from seamlight.cli.main import main
from seamlight.demo import phone, saw, wood

NUMBER, TEXT, FLAG, WHOLE = "number", "text", "flag", "whole"
POINTS = [[NUMBER]]


class Maybe:
    """A figure that may be null."""

    def __init__(self, what: Any) -> None:
        self.what = what


class OneOf(frozenset[Any]):
    """One of a few words or numbers."""


THIRDS = {"left": Maybe(NUMBER), "middle": Maybe(NUMBER), "right": Maybe(NUMBER)}
LEAF, EDGE, FACE = OneOf(("a", "b")), OneOf(("left", "right")), OneOf(("sawn", "other"))
FLAW = {
    "kind": OneOf(("knot", "pitch", "crack", "wane", "hole", "stain", "other")),
    "outline_mm": POINTS,
    "box_px": [NUMBER],
    "sure": NUMBER,
}
READ = {
    "schema": OneOf(("seamlight/read/1",)),
    "warnings": [TEXT],
    "leaf": {"length_mm": NUMBER, "width_end1_mm": NUMBER, "width_end2_mm": NUMBER, "outline_mm": POINTS},
    "scale": {"how": OneOf(("tags", "px", "dpi", "size")), "px_per_mm": NUMBER, "error_mm": NUMBER},
    "grain": {
        "angle_deg": Maybe(NUMBER),
        "wander_mm": Maybe(NUMBER),
        "spacing_mm": THIRDS,
        "lines_per_inch": THIRDS,
        "ring_to_face_deg": Maybe(THIRDS),
    },
    "flaws": [FLAW],
}
PLACING = {
    "joint_line_mm": POINTS,
    "outline_mm": POINTS,
    "planing_mm": {"end1": NUMBER, "end2": NUMBER, "most": NUMBER},
}
REMEDIES = ("smaller outline", "lower-bout wings", "slide", "centre strip", "open by the other edge")
OPENING = {
    "joint_edge": EDGE,
    "neck_end": OneOf((1, 2)),
    "show_face": FACE,
    "a_is": EDGE,
    "fits": FLAG,
    "marginal": FLAG,
    "score": NUMBER,
    "reasons": [TEXT],
    "leaves": {"a": PLACING, "b": PLACING},
    "joint_tilt_deg": NUMBER,
    "slide_mm": NUMBER,
    "spare_mm": NUMBER,
    "end_spare_mm": NUMBER,
    "joint_room_mm": NUMBER,
    "short": [{"leaf": LEAF, "by_mm": NUMBER, "from_mm": NUMBER, "to_mm": NUMBER}],
    "flaws_inside": [
        {"leaf": LEAF, "flaw": WHOLE, "zone": OneOf(("soundhole", "bridge", "fingerboard", "edge", "open"))}
    ],
    "grain": {
        "tilt_deg": Maybe(NUMBER),
        "spread_deg": Maybe(NUMBER),
        "lines_per_inch": {"joint": Maybe(NUMBER), "middle": Maybe(NUMBER), "edge": Maybe(NUMBER)},
        "ring_to_face_deg": Maybe(NUMBER),
    },
    "remedies": [{"kind": OneOf(REMEDIES), "text": TEXT}],
}
LAYOUT = {
    "schema": OneOf(("seamlight/layout/1",)),
    "warnings": [TEXT],
    "pair": {
        "match": Maybe(NUMBER),
        "b_shows": FACE,
        "b_turned": FLAG,
        "slide_mm": Maybe(NUMBER),
        "across_mm": Maybe(NUMBER),
        "rotate_deg": Maybe(NUMBER),
    },
    "flaws": {"a": [FLAW], "b": [FLAW]},
    "outline": {
        "name": TEXT,
        "length_mm": NUMBER,
        "upper_bout_mm": NUMBER,
        "waist_mm": NUMBER,
        "lower_bout_mm": NUMBER,
    },
    "openings": [OPENING],
}
RACK = {
    "schema": OneOf(("seamlight/rack/1",)),
    "pairs": [{"a": TEXT, "b": TEXT, "match": Maybe(NUMBER), "best": {"jumbo": OPENING}}],
    "alone": [TEXT],
    "failed": [{"file": TEXT, "why": TEXT}],
}
TONE = {
    "schema": OneOf(("seamlight/tone/1",)),
    "swaps": Maybe(FLAG),
    "contrast_pct": [Maybe(NUMBER)],
    "cause": OneOf(("runout", "colour", "none", "unclear")),
    "advice": [TEXT],
}


def holds(found: Any, wanted: Any, at: str = "") -> None:
    """Assert that a value is what the contract says, field by field; further fields are welcome."""
    if isinstance(wanted, Maybe):
        if found is not None:
            holds(found, wanted.what, at)
    elif isinstance(wanted, OneOf):
        assert found in wanted, at
        assert type(found) in {type(one) for one in wanted}, f"{at}: {found!r}"  # 1 is no 1.0
    elif isinstance(wanted, dict):
        assert isinstance(found, dict), at
        for name, what in wanted.items():
            assert name in found, f"{at}.{name}"
            holds(found[name], what, f"{at}.{name}")
    elif isinstance(wanted, list):
        assert isinstance(found, list), at
        for place, one in enumerate(found):
            holds(one, wanted[0], f"{at}[{place}]")
    else:
        kinds = {NUMBER: (int, float), TEXT: (str,), FLAG: (bool,), WHOLE: (int,)}[wanted]
        assert isinstance(found, kinds), f"{at}: {found!r}"
        assert wanted == FLAG or not isinstance(found, bool), f"{at}: {found!r}"


def told(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    """What the command prints, against the schema that it prints itself."""
    assert main([*map(str, words), "--json"]) == 0
    text = capsys.readouterr().out
    document: dict[str, Any] = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert main(["schema", str(words[0])]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema_rs.validator_for(schema).validate(document)
    return document


@pytest.fixture(scope="module")
def knotty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("said") / "flaws.json"
    knot = {"kind": "knot", "outline_mm": [[100, 300], [108, 300], [104, 309]]}
    path.write_text(json.dumps({"add": [knot]}))
    return path


def test_read(photographs, knotty, capsys) -> None:
    leaf = (photographs["a"], "--thickness", "4.5", "--flaws", knotty)
    document = told(capsys, "read", *leaf, "--end", photographs["end"])
    holds(document, READ)
    assert document["flaws"]
    assert document["grain"]["ring_to_face_deg"] is not None
    assert len(document["flaws"][-1]["box_px"]) == 4


def test_layout_and_rack(photographs, knotty, tmp_path, capsys) -> None:
    both = (photographs["a"], photographs["b"], "--thickness", "4.5", "--flaws", knotty)
    document = told(capsys, "layout", *both, "--outline", "jumbo")
    holds(document, LAYOUT)
    assert len(document["openings"]) == 4
    every = document["openings"]
    assert any(one["short"] for one in every)  # what may be missing was there to be looked at
    assert any(one["flaws_inside"] for one in every)
    turned = [r for one in every for r in one["remedies"] if r["kind"] == "open by the other edge"]
    assert turned
    for remedy in turned:
        holds(remedy, {"joint_edge": EDGE, "neck_end": OneOf((1, 2)), "spare_mm": NUMBER})
    folder = tmp_path / "stack"
    folder.mkdir()
    for name in ("a", "b", "end"):
        (folder / f"{name}.jpg").write_bytes(photographs[name].read_bytes())
    (folder / "notes.jpg").write_bytes(b"no picture")
    stack = told(capsys, "rack", folder, "--outline", "jumbo", "--thickness", "4.5", "--no-flaws")
    holds(stack, RACK)
    assert len(stack["pairs"]) == 1
    assert "notes.jpg" in [one["file"] for one in stack["failed"]]


def test_tone(tmp_path, capsys) -> None:
    pair = saw.saw_pair(wood.grow_log(211, "Engelmann spruce", spiral_deg=1.5), 211)
    lit = [tmp_path / f"lit-{end}.jpg" for end in (1, 2)]
    for shot, path in zip(phone.raking_pair(pair, 211, px_per_mm=2.0, megapixels=2.0), lit, strict=True):
        shot.save(path)
    document = told(capsys, "tone", *lit)
    holds(document, TONE)
    assert len(document["contrast_pct"]) == 2


def test_what_the_contract_does_not_say_is_told() -> None:
    """The check itself fails on a missing field, a wrong kind and a 1.0 for an end."""
    one = {"leaf": "a", "flaw": 1, "zone": "open"}
    (inside,) = OPENING["flaws_inside"]
    holds(one, inside)
    for wrong in ({**one, "flaw": 1.0}, {**one, "zone": "bridges"}, {"leaf": "a", "flaw": 1}):
        with pytest.raises(AssertionError):
            holds(wrong, inside)
    with pytest.raises(AssertionError):
        holds({"neck_end": 1.0}, {"neck_end": OneOf((1, 2))})
