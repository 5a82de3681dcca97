"""Ring lines followed along a leaf, and ring borders on small drawn strips."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import cases
from seamlight.grain.field_survey import grain_field
from seamlight.grain.flaw import Flaw
from seamlight.grain.ring_profile import dark_lines
from seamlight.grain.rings import ring_borders, ring_lines, wander_mm


def test_lines_follow_the_true_ring_lines() -> None:
    face = cases.face_of("spruce askew")
    flat = face.as_flat()
    lines = ring_lines(flat, grain_field(flat))
    long = [line for line in lines if np.ptp(line[:, 1]) > 450]
    assert len(long) > 100
    for line in long[10:-10:12]:
        middle = len(line) // 2
        true = face.ring_line(line[middle, 0], line[middle, 1], line[:, 1])
        assert np.abs(line[:, 0] - true).max() < 0.35


def test_wander_of_a_bent_log() -> None:
    face = cases.face_of("spruce askew")
    flat = face.as_flat()
    wander = wander_mm(ring_lines(flat, grain_field(flat)), flat.length_mm)
    assert wander == pytest.approx(face.wander_mm(), abs=0.4)


def test_wander_by_hand() -> None:
    y = np.linspace(0, 300, 101)
    bow = np.column_stack([20 + 2.0 * np.sin(np.pi * y / 300), y])
    straight = np.column_stack([25 + 0.01 * y, y])
    lines = [line + np.array([k, 0.0]) for line in (bow, straight) for k in range(3)]
    # least squares level of a half sine is 2/pi of its height; it leaves that at the ends
    assert wander_mm(lines, 300.0) == pytest.approx(2.0 * 2 / np.pi, abs=0.05)
    assert wander_mm(lines[3:], 300.0) == pytest.approx(0.0, abs=1e-9)
    assert wander_mm([], 300.0) is None
    wide = Flaw("knot", np.array([[0.0, 100], [60, 100], [60, 260], [0, 260]]), 1.0)
    assert wander_mm(lines, 300.0, [wide]) is None


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(0.8, 2.4), min_size=8, max_size=25),
    st.integers(0, 1000),
    st.sampled_from([-8.0, 0.0, 11.0]),
)
def test_every_drawn_ring_is_found_where_it_ends(widths: list[float], seed: int, lean_deg: float) -> None:
    px_per_mm, dice = 20.0, np.random.default_rng(seed)
    borders = 2.0 + np.cumsum(widths)
    high, wide = 50, int((borders[-1] + 2.0) * px_per_mm)
    x = (np.arange(wide) + 0.5) / px_per_mm - np.tan(np.radians(lean_deg)) * (
        (np.arange(high)[:, None] - (high - 1) / 2) / px_per_mm
    )
    dark = np.zeros_like(x)
    for border in borders:
        # latewood darkens over 0.4 mm up to the border and stops there
        before = border - x
        dark += np.where((before >= 0) & (before < 0.4), 1 - before / 0.8, 0)
    gray = np.clip(200 - 90 * dark + dice.normal(0, 6, x.shape), 0, 255).astype(np.uint8)
    found = ring_borders(gray, px_per_mm) / px_per_mm
    assert len(found) == len(borders)
    assert np.abs(found - borders).max() < 0.1


def test_a_crack_is_no_line_and_noise_is_none() -> None:
    x = np.arange(0, 30, 0.05)
    rings = sum(np.exp(-(((x - at) / 0.12) ** 2)) for at in np.arange(1.5, 29, 1.4))
    crack = 8 * np.exp(-(((x - 15.0) / 0.08) ** 2))
    count = len(dark_lines(rings, 0.05))
    assert count == len(np.arange(1.5, 29, 1.4))
    assert len(dark_lines(rings + crack, 0.05)) == count
    noise = np.random.default_rng(3).normal(0, 0.05, len(x))
    assert len(dark_lines(rings + noise, 0.05, noise=0.05)) == count
    assert len(dark_lines(np.zeros(100), 0.05)) == 0
