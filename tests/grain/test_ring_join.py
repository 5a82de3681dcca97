"""Dips of stretches joined into lines: small cases by hand."""

from __future__ import annotations

import numpy as np

from seamlight.grain.ragged import Rows
from seamlight.grain.ring_join import joined


def lines_of(stretches: list[list[float]], sure: bool = True) -> np.ndarray:
    row_of = np.repeat(np.arange(len(stretches)), [len(dips) for dips in stretches])
    places = np.array([dip for dips in stretches for dip in dips], float)
    return joined(places, np.full(len(places), sure), Rows(row_of, len(stretches)))


def test_two_lines_side_by_side() -> None:
    found = lines_of([[1.0 + 0.1 * k, 3.0 - 0.1 * k] for k in range(8)])
    np.testing.assert_allclose(found, [1.0 + 0.1 * np.arange(8), 3.0 - 0.1 * np.arange(8)])


def test_a_line_lost_over_two_stretches_is_drawn_straight_across() -> None:
    found = lines_of([[5.0], [5.1], [5.2], [], [], [5.5], [5.6], [5.7]])
    np.testing.assert_allclose(found, [5.0 + 0.1 * np.arange(8)])


def test_a_line_lost_over_three_stretches_is_two() -> None:
    found = lines_of([[5.0]] * 5 + [[]] * 3 + [[5.0]] * 5)
    assert len(found) == 2
    assert np.isfinite(found).sum(axis=1).tolist() == [5, 5]


def test_a_jump_too_far_is_no_line() -> None:
    found = lines_of([[5.0]] * 6 + [[5.5]] * 6)
    assert np.isfinite(found).sum(axis=1).tolist() == [6, 6]


def test_of_two_dips_the_nearer_goes_on_and_a_lone_one_is_left_out() -> None:
    found = lines_of([[5.0], [5.0], [5.0], [4.9, 5.15], [5.0], [5.0], [5.0]])
    assert len(found) == 1
    np.testing.assert_allclose(found[0], [5.0, 5.0, 5.0, 4.9, 5.0, 5.0, 5.0])


def test_weak_dips_count_only_where_they_go_on_far() -> None:
    assert len(lines_of([[5.0]] * 13 + [[]] * 17, sure=False)) == 0
    assert len(lines_of([[5.0]] * 14 + [[]] * 16, sure=False)) == 1


def test_no_dips_no_lines() -> None:
    assert lines_of([[], [], []]).shape == (0, 3)
