"""Points carried from leaf B to leaf A and back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.layout.carry import carry_to_a, carry_to_b
from seamlight.layout.pair import Registration

registrations = st.builds(
    Registration,
    match=st.just(1.0),
    b_shows=st.sampled_from(["sawn", "other"]),
    b_turned=st.booleans(),
    slide_mm=st.none() | st.floats(-30, 30),
    across_mm=st.none() | st.floats(-30, 30),
    rotate_deg=st.none() | st.floats(-5, 5),
)
sizes = st.tuples(st.floats(100, 260), st.floats(400, 700))
points = st.lists(st.tuples(st.floats(-50, 300), st.floats(-50, 750)), min_size=1, max_size=5).map(np.array)


@settings(max_examples=60, deadline=None)
@given(registrations, sizes, sizes, points)
def test_there_and_back_is_where_it_was(registration, size_a, size_b, here):
    there = carry_to_a(registration, size_a, size_b, here)
    assert carry_to_b(registration, size_a, size_b, there) == pytest.approx(here, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(registrations, sizes, sizes, points)
def test_nothing_is_stretched_and_only_a_mirror_mirrors(registration, size_a, size_b, here):
    legs = carry_to_a(registration, size_a, size_b, np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    frame = np.array([legs[1] - legs[0], legs[2] - legs[0]])
    assert frame @ frame.T == pytest.approx(np.eye(2), abs=1e-9)
    assert np.linalg.det(frame) == pytest.approx(-1.0 if registration.b_shows == "sawn" else 1.0)


def test_each_way_b_may_lie():
    corner = np.array([[10.0, 20.0]])
    size_a, size_b = (200.0, 560.0), (210.0, 550.0)

    def at(**how: object) -> list[float]:
        return carry_to_a(Registration(1.0, **how), size_a, size_b, corner)[0].tolist()

    assert at() == [195.0, 20.0]  # mirrored; middles together across, end 1 together along
    assert at(b_shows="other") == [5.0, 20.0]
    assert at(b_turned=True) == [5.0, 530.0]
    assert at(b_turned=True, b_shows="other") == [195.0, 530.0]
    assert at(slide_mm=4.0, across_mm=-2.0) == [193.0, 24.0]


def test_a_positive_turn_leans_a_line_to_plus_x_as_y_grows():
    line = np.array([[100.0, 0.0], [100.0, 500.0]])
    head, tail = carry_to_a(Registration(1.0, rotate_deg=1.0), (200, 500), (200, 500), line)
    assert tail[0] - head[0] == pytest.approx(500 * np.sin(np.radians(1.0)))
