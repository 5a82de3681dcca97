"""Rings in the gaps between lines: which wide gap has lost a line, and which is a wide ring."""

from __future__ import annotations

import numpy as np

from seamlight.grain.field_spacing import rings_in_gaps
from seamlight.grain.ragged import Rows


def lines(gaps: list[float]) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(gaps)])


def rings(gaps: list[float], clear: bool) -> list[float]:
    row = Rows(np.zeros(len(gaps) + 1, np.int64), 1)
    return rings_in_gaps(lines(gaps), np.full(len(gaps) + 1, clear), row).tolist()


def test_a_gap_of_two_rings_in_a_poor_figure_has_lost_a_line() -> None:
    gaps = [1.0] * 12 + [2.1] + [1.0] * 12
    assert rings(gaps, clear=False) == [1.0] * 12 + [2.0] + [1.0] * 12


def test_in_a_clear_figure_it_is_one_wide_ring() -> None:
    assert rings([1.0] * 12 + [2.1] + [1.0] * 12, clear=True) == [1.0] * 25


def test_rings_that_widen_step_by_step_toward_an_edge_are_rings() -> None:
    steps = [1.1, 1.4, 1.8, 2.3, 2.9, 3.6]
    assert rings([1.0] * 15 + steps, clear=False) == [1.0] * 21
    assert rings(steps[::-1] + [1.0] * 15, clear=False) == [1.0] * 21


def test_lines_lost_toward_an_edge_are_not_told() -> None:
    counted = rings([1.0] * 15 + [1.0, 3.3, 6.5], clear=True)
    assert counted[:16] == [1.0] * 16
    assert np.isnan(counted[16:]).all()
