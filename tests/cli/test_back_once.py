"""A back's outline is turned over once, not twice: seen through its halves where they differ."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import numpy as np

from seamlight.cli.options import outline_of
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.openings import lay_out
from seamlight.layout.pair import Leaf
from seamlight.outline import for_back, load

DOCS = Path(__file__).resolve().parents[2] / "docs" / "outlines.md"


def test_a_cutaway_back_lies_turned_over_once(tmp_path: Path) -> None:
    text = DOCS.read_text(encoding="utf-8")
    example = re.search(r"```json\n(\{\n  \"name\".*?)```", text, re.DOTALL)
    assert example
    measures = example[1]
    path = tmp_path / "body.json"
    path.write_text(measures)
    args = argparse.Namespace(use="back", outline_units=None)
    named = outline_of(str(path), args)
    leaf = Leaf(np.array([[0.0, 0], [260, 0], [260, 560], [0, 560]]))
    laid = lay_out(leaf, None, None, named, LayoutSettings(use="back"), smaller=())
    once = for_back(load(path))
    assert np.array_equal(laid.outline.half_mm, once.half_mm)
    assert laid.outline.left_half_mm is not None
    assert not np.array_equal(laid.outline.half_mm, load(path).half_mm)
