"""A whole reading, with the true flaws handed in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from seamlight.demo import cases
from seamlight.grain import read_leaf


def test_a_reading_says_what_is_true() -> None:
    face = cases.face_of("spruce knots")
    end = cases.end_of("spruce knots", 2)
    reading = read_leaf(face.as_flat(), end=end.rgb, end_seen=2, find_flaws=lambda flat, field: face.flaws)
    assert reading.angle_deg == pytest.approx(face.mean_angle_deg, abs=0.05)
    assert reading.wander_mm == pytest.approx(face.wander_mm(), abs=0.5)
    x, y = np.meshgrid(np.arange(2, face.width_mm, 4), np.arange(4, face.length_mm, 16))
    true = face.spacing_mm(x, y)
    for k, name in enumerate(("left", "middle", "right")):
        part = (x >= k * face.width_mm / 3) & (x < (k + 1) * face.width_mm / 3)
        assert getattr(reading.spacing_mm, name) == pytest.approx(true[part].mean(), rel=0.02)
    assert reading.end is not None
    assert reading.end.thirds.left is not None
    assert reading.flaws == face.flaws
    assert reading.warnings == ()


def test_edits_win_and_nothing_is_found_unasked() -> None:
    flat = cases.face_of("cedar plain").as_flat()
    drawn = [[50, 50], [60, 50], [60, 60]]
    reading = read_leaf(flat, edits={"add": [{"kind": "stain", "outline_mm": drawn}]})
    assert [flaw.kind for flaw in reading.flaws] == ["stain"]
    assert reading.end is None


def test_a_blank_leaf_says_nothing_and_says_so() -> None:
    flat = cases.face_of("cedar plain").as_flat()
    blank = replace(flat, rgb=np.full_like(flat.rgb, 140))
    reading = read_leaf(blank)
    assert reading.angle_deg is None
    assert reading.wander_mm is None
    assert (reading.spacing_mm.left, reading.spacing_mm.middle, reading.spacing_mm.right) == (None,) * 3
    assert len(reading.warnings) == 2


def test_an_end_without_rings_says_why_it_gives_no_angle() -> None:
    flat = cases.face_of("cedar plain").as_flat()
    end = np.full((120, 2600, 3), 30, np.uint8)
    end[30:84] = np.random.default_rng(3).normal(150, 8, (54, 2600, 1)).clip(0, 255).astype(np.uint8)
    reading = read_leaf(flat, end=end)
    assert reading.end is not None
    assert reading.end.thirds.left is None
    assert any("no rings can be told on the end" in said for said in reading.warnings)
