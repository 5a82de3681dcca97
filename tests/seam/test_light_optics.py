"""What a camera sees through a deep slit: against single rays, and back again."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo.seam_rays import trace
from seamlight.seam.optics import Sight, gap_of_seen_mm, hidden_mm, off_plane_of, offset_mm, seen_width_mm


def test_wide_gap_loses_some_seven_microns() -> None:
    assert offset_mm(Sight()) == pytest.approx(0.007, abs=0.0005)


@settings(max_examples=20, deadline=None)
@given(gap=st.floats(0.01, 0.5), off=st.floats(0.0, 4.0), depth=st.floats(2.0, 6.0))
def test_seen_width_agrees_with_traced_rays(gap: float, off: float, depth: float) -> None:
    # the rays' gap lies to one side of x = 0, and they see its far side a little smaller: the shims take care
    # of that as a slope
    sight = Sight(depth, 400.0, 3.0, off - gap / 2)
    _, light = trace(np.full(1500, gap), depth, 400.0, 3.0, off, 0.0, np.random.default_rng(5))
    traced = float(light.sum(axis=1).mean()) * (1 + depth / 800.0)
    assert float(seen_width_mm(gap, sight)) == pytest.approx(traced, abs=6e-4)


@settings(max_examples=30, deadline=None)
@given(gap=st.floats(0.005, 0.8), off=st.floats(0.0, 2.0))
def test_gap_comes_back_from_seen_width(gap: float, off: float) -> None:
    sight = Sight(off_plane_mm=off)
    seen = seen_width_mm(np.array([gap]), sight)
    if seen[0] > 1e-4:
        assert gap_of_seen_mm(seen, sight)[0] == pytest.approx(gap, abs=5e-4)
    else:
        assert gap <= hidden_mm(sight) + 0.006


def test_off_plane_camera_sees_nothing_of_a_narrow_gap() -> None:
    # trade.md 35: 0.1 mm in 4 mm hides itself beyond 1.4 degrees
    beyond = Sight(off_plane_mm=400 * np.tan(np.radians(1.4)) + 1.7)
    assert float(seen_width_mm(0.1, beyond)) < 1e-4
    assert hidden_mm(beyond) > 0.097


def test_off_plane_is_found_from_what_is_lost() -> None:
    sight = Sight(off_plane_mm=3.0)
    assert off_plane_of(offset_mm(sight), Sight()) == pytest.approx(3.0, abs=0.05)


def test_walls_throw_little_light_back() -> None:
    rays = [
        trace(np.full(400, 0.1), 4.0, 400.0, 3.0, 1.0, r, np.random.default_rng(5))[1] for r in (0.0, 0.5)
    ]
    assert 0 < rays[1].sum() - rays[0].sum() < 0.02 * rays[0].sum()
