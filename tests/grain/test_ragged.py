"""Rows kept end to end give what each row gives by itself."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import rank_filter

from seamlight.grain.ragged import Rows, Windows, at_share, between_columns, on_one_line


def rows_of(lengths: list[int]) -> Rows:
    return Rows(np.repeat(np.arange(len(lengths)), lengths), len(lengths))


some_rows = st.lists(st.integers(0, 25), min_size=1, max_size=8)


@settings(max_examples=40, deadline=None)
@given(some_rows, st.integers(0, 10_000), st.sampled_from([25, 50, 75]))
def test_running_percentile_is_that_of_each_row_alone(lengths: list[int], seed: int, percent: int) -> None:
    rows = rows_of(lengths)
    values = np.random.default_rng(seed).normal(size=sum(lengths))
    sizes = np.minimum(9, rows.lengths) // 2 * 2 + 1
    found = rows.split(Windows(rows, sizes).running(values, percent))
    for row, size, one in zip(rows.split(values), sizes.tolist(), found, strict=True):
        if len(row):
            alone = rank_filter(row, int(percent / 100 * size), size, mode="reflect")
            np.testing.assert_array_equal(one, alone)


@settings(max_examples=40, deadline=None)
@given(some_rows, st.integers(0, 10_000), st.floats(0, 1))
def test_share_is_that_of_each_row_sorted(lengths: list[int], seed: int, share: float) -> None:
    rows = rows_of(lengths)
    values = np.random.default_rng(seed).normal(size=sum(lengths))
    found = at_share(values, rows, share)
    for row, one in zip(rows.split(values), found, strict=True):
        assert one == (np.sort(row)[int(share * (len(row) - 1))] if len(row) else 0.0)


@settings(max_examples=40, deadline=None)
@given(some_rows, st.integers(0, 10_000))
def test_differences_stay_within_a_row(lengths: list[int], seed: int) -> None:
    rows = rows_of(lengths)
    values = np.random.default_rng(seed).normal(size=sum(lengths))
    for row, gaps in zip(rows.split(values), rows.gaps().split(rows.differences(values)), strict=True):
        np.testing.assert_array_equal(gaps, np.diff(row))


def test_parts_keep_their_rows() -> None:
    rows = rows_of([3, 0, 2])
    kept = rows.of(np.array([True, False, True, False, True]))
    assert kept.lengths.tolist() == [2, 0, 1]
    assert kept.starts.tolist() == [0, 2, 2]
    assert kept.within.tolist() == [0, 1, 0]


def test_one_line_keeps_rows_in_their_order() -> None:
    line = on_one_line(np.array([-40.0, 900.0, -40.0, 900.0]), np.array([0, 0, 1, 1]))
    assert (np.diff(line) > 0).all()


def test_between_columns_is_linear_and_stops_at_the_ends() -> None:
    table = np.array([[0.0, 10.0, 30.0], [5.0, 5.0, 5.0]])
    found = between_columns(table, np.array([0, 0, 0, 0, 1]), np.array([-2.0, 0.5, 1.25, 9.0, 1.5]))
    np.testing.assert_allclose(found, [0.0, 5.0, 15.0, 30.0, 5.0])
    np.testing.assert_allclose(between_columns(np.array([[7.0]]), np.array([0]), np.array([0.4])), 7.0)
