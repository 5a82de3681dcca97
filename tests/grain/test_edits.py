"""A person's changes to the flaws: they win, and what is wrong in them is said in one line."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from seamlight.grain.edits import edit_flaws
from seamlight.grain.flaw import Flaw
from seamlight.mistake import Mistake

SQUARE = [[10, 10], [20, 10], [20, 20], [10, 20]]
FOUND = (Flaw("knot", np.array(SQUARE, float), 0.7), Flaw("pitch", np.array(SQUARE, float) + 50, 0.6))


def test_drop_replace_and_add() -> None:
    edits = {
        "drop": [0],
        "replace": {"1": {"kind": "crack"}},
        "add": [{"kind": "hole", "outline_mm": [*SQUARE, SQUARE[0]]}],
    }
    crack, hole = edit_flaws(FOUND, edits)
    assert (crack.kind, crack.sure) == ("crack", 1.0)
    np.testing.assert_array_equal(crack.outline_mm, FOUND[1].outline_mm)
    assert (hole.kind, len(hole.outline_mm), hole.sure) == ("hole", 4, 1.0)


@pytest.mark.parametrize(
    "ring",
    [
        [[1000, 2000], [1010, 2000], [1005, 2010]],
        [[-20, 100], [-10, 100], [-15, 110]],
        [[200, 540], [320, 540], [210, 560]],
    ],
)
@pytest.mark.parametrize("way", ["add", "replace"])
def test_a_flaw_off_the_leaf_names_its_entry_and_the_leafs_size(ring: list[list[int]], way: str) -> None:
    entry = {"kind": "knot", "outline_mm": ring}
    edits: dict[str, Any] = {"add": [entry]} if way == "add" else {"replace": {"0": entry}}
    with pytest.raises(Mistake) as raised:
        edit_flaws(FOUND, edits, (207.0, 545.0))
    assert str(raised.value).startswith(f"{way} 0: x {min(x for x, _ in ring)} to")
    assert "the leaf is 207 mm wide (x) and 545 mm long (y)" in str(raised.value)


def test_a_flaw_over_the_leafs_edge_stays() -> None:
    ring = [[200, 500], [260, 500], [230, 560]]
    (*_, wane) = edit_flaws(FOUND, {"add": [{"kind": "wane", "outline_mm": ring}]}, (207.0, 545.0))
    assert wane.kind == "wane"


def test_nothing_asked_changes_nothing() -> None:
    assert edit_flaws(FOUND, {}) == FOUND


@pytest.mark.parametrize(
    "edits",
    [
        {"remove": [0]},
        {"drop": 0},
        {"drop": [2]},
        {"drop": [-1]},
        {"drop": [True]},
        {"drop": ["x"]},
        {"drop": [0.5]},
        {"replace": [0]},
        {"replace": {"7": {"kind": "knot"}}},
        {"replace": {"0": "knot"}},
        {"replace": {"0": {"colour": "red"}}},
        {"drop": [0], "replace": {"0": {"kind": "crack"}}},
        {"add": [{"kind": "burr", "outline_mm": SQUARE}]},
        {"add": [{"kind": "knot"}]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [5, 5]]}]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [5, 5], [5, 0], [0, 5]]}]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [5, 0], [9, 0]]}]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [5, "a"], [9, 0]]}]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [5, float("nan")], [9, 0]]}]},
    ],
)
def test_wrong_edits_are_mistakes_of_one_line(edits: dict[str, Any]) -> None:
    with pytest.raises(Mistake) as raised:
        edit_flaws(FOUND, edits)
    assert "\n" not in str(raised.value)
    assert ";" in str(raised.value)
