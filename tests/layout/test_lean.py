"""How ring lines move between two faces, against circles cut by two lines."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.layout.lean import Lean, lean_shift, moved_across


@settings(max_examples=50, deadline=None)
@given(st.floats(30, 300), st.floats(-80, 80), st.floats(0.5, 6))
def test_a_circle_about_the_pith_crosses_both_faces(x, height, depth):
    there = x + float(moved_across(np.array(x), 2 * height * depth + depth**2))
    if there > 1e-6:  # the ring reaches the other face
        assert np.hypot(there, height + depth) == pytest.approx(np.hypot(x, height))


def test_far_from_the_pith_it_is_kerf_times_the_cotangent_of_the_ring_to_face_angle():
    x, height, kerf = 400.0, 40.0, 1.2
    cotangent = height / x  # the ring stands square to the line from the pith
    shift = float(moved_across(np.array(x), 2 * height * kerf + kerf**2))
    assert shift == pytest.approx(-kerf * cotangent, rel=0.03)


def test_the_shift_has_no_mean_over_the_leaf_and_spreads_as_asked():
    x = np.linspace(-100, 100, 401)
    shift = lean_shift(Lean(-200.0, 0.4), x, 200.0)
    assert abs(shift.mean()) < 0.01
    assert shift.std() == pytest.approx(0.4, rel=0.1)
    assert not lean_shift(Lean(-200.0, 0.0), x, 200.0).any()
