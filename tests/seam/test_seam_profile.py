"""The fit gap and the take-off: by example, and for any joint."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from seamlight.mistake import Mistake
from seamlight.seam.profile import Profile, fit_gap, mean_over_length, mirrored
from seamlight.seam.take_off import depth_mm, take_off

S = np.linspace(0.0, 550.0, 56)


@st.composite
def joints(draw: st.DrawFn) -> Profile:
    """Any joint: places unevenly apart, gaps of up to half a millimetre over a wedge of shims."""
    count = draw(st.integers(3, 40))
    steps = draw(st.lists(st.integers(1, 60), min_size=count - 1, max_size=count - 1))
    gaps = draw(st.lists(st.integers(0, 500), min_size=count, max_size=count))
    shims = draw(st.tuples(st.integers(0, 300), st.integers(0, 300)))
    s = np.concatenate([[0.0], np.cumsum(np.array(steps, dtype=np.float64))])
    gap = np.array(gaps) / 1000 + np.interp(s, [0, s[-1]], np.array(shims) / 1000)
    return Profile(s, gap, draw(st.sampled_from([0.0, 0.005, 0.02])))


@settings(max_examples=60, deadline=None)
@given(joints())
def test_a_fit_gap_touches_and_is_never_below_zero(joint: Profile) -> None:
    fit = fit_gap(joint)
    assert fit.gap_mm.min() == pytest.approx(0.0, abs=1e-12)
    wedge = joint.gap_mm - fit.gap_mm
    assert np.polyval(np.polyfit(joint.s_mm, wedge, 1), joint.s_mm) == pytest.approx(wedge, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(joints())
def test_its_mean_is_the_least_that_a_turn_leaves(joint: Profile) -> None:
    s, gap = joint.s_mm, joint.gap_mm
    # largest mean of a line that nowhere lies above the gap, by a linear program
    middle = (s[0] + s[-1]) / 2
    best = linprog(
        [-1.0, -middle], A_ub=np.column_stack([np.ones(s.size), s]), b_ub=gap, bounds=[(None, None)] * 2
    )
    least = mean_over_length(s, gap) + best.fun
    mean = mean_over_length(s, fit_gap(joint).gap_mm)
    assert least - 1e-9 <= mean <= least + joint.error_mm + 1e-9
    exact = fit_gap(Profile(s, gap, 0.0))
    assert mean_over_length(s, exact.gap_mm) == pytest.approx(least, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(joints())
def test_of_turns_within_the_error_both_ends_are_most_equally_open(joint: Profile) -> None:
    fit = fit_gap(joint).gap_mm
    s, mean = joint.s_mm, mean_over_length(joint.s_mm, fit_gap(joint).gap_mm)
    uneven = abs(fit[-1] - fit[0])
    for turn in np.linspace(-0.002, 0.002, 201):
        other = joint.gap_mm - turn * s
        other = other - other.min()
        allowed = mean_over_length(s, fit_gap(Profile(s, joint.gap_mm, 0.0)).gap_mm) + joint.error_mm
        if mean_over_length(s, other) <= allowed - 1e-9:
            assert abs(other[-1] - other[0]) >= uneven - 1e-9
    assert mean <= allowed + 1e-9


@settings(max_examples=60, deadline=None)
@given(joints())
def test_a_joint_read_from_its_tail_is_the_mirror(joint: Profile) -> None:
    there, back = fit_gap(joint), fit_gap(mirrored(joint))
    assert back.gap_mm[::-1] == pytest.approx(there.gap_mm, abs=1e-9)
    assert depth_mm(back)[::-1] == pytest.approx(depth_mm(there), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(joints())
def test_the_take_off_closes_the_joint(joint: Profile) -> None:
    fit = fit_gap(joint)
    depth = depth_mm(fit)
    assert depth.min() == pytest.approx(0.0, abs=1e-12)
    after = Profile(fit.s_mm, fit.gap_mm + 2 * depth, fit.error_mm)
    assert fit_gap(after).gap_mm == pytest.approx(np.zeros(fit.s_mm.size), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(joints())
def test_no_straight_line_above_the_gap_has_less_area(joint: Profile) -> None:
    fit = fit_gap(joint)
    s, gap = fit.s_mm, fit.gap_mm
    middle = (s[0] + s[-1]) / 2
    best = linprog(
        [1.0, middle], A_ub=-np.column_stack([np.ones(s.size), s]), b_ub=-gap, bounds=[(None, None)] * 2
    )
    area = (best.fun - mean_over_length(s, gap)) / 2
    assert mean_over_length(s, depth_mm(fit)) == pytest.approx(area, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(joints())
def test_stretches_follow_the_depth(joint: Profile) -> None:
    fit = fit_gap(joint)
    depth = depth_mm(fit)
    off = max(0.0025, 0.03 * depth.max(), joint.error_mm / 2)
    all_of_it = take_off(fit)
    for s in np.linspace(fit.s_mm[0] + 0.01, fit.s_mm[-1] - 0.01, 97):
        said = sum(one.depth_mm for one in all_of_it if one.from_mm <= s < one.to_mm)
        # borders stand half-way between places 2.5 mm apart: the depth's slope over that is allowed too
        slope = np.abs(np.diff(depth) / np.diff(fit.s_mm)).max()
        assert said == pytest.approx(np.interp(s, fit.s_mm, depth), abs=off + 1.25 * slope + 1e-9)


def test_a_wedge_of_shims_is_no_fault() -> None:
    fit = fit_gap(Profile(S, 0.05 + 0.1 * S / 550, 0.003))
    assert fit.gap_mm == pytest.approx(np.zeros(S.size), abs=1e-12)
    assert take_off(fit) == ()


def test_a_hollow_comes_off_its_ends() -> None:
    hollow = Profile(S, 0.1 * (1 - (2 * S / 550 - 1) ** 2) + 0.05 + 0.1 * S / 550, 0.003)
    depth = depth_mm(fit_gap(hollow))
    assert depth[[0, -1]] == pytest.approx([0.05, 0.05], abs=1e-3)
    assert depth.min() == pytest.approx(0.0, abs=1e-4)


def test_a_hump_comes_off_its_middle_and_its_ends_are_equally_open() -> None:
    hump = Profile(S, 0.1 * (2 * S / 550 - 1) ** 2 + 0.04 * S / 550, 0.003)
    fit = fit_gap(hump)
    assert fit.gap_mm[0] == pytest.approx(fit.gap_mm[-1], abs=0.02)
    assert depth_mm(fit)[28] == pytest.approx(0.05, abs=0.006)


@pytest.mark.parametrize(
    ("s", "gap", "says"),
    [
        ([0.0], [0.1], "two places"),
        ([0.0, 100.0, 50.0], [0.0, 0.1, 0.0], "backwards"),
        ([0.0, 100.0], [0.0, float("nan")], "no number"),
    ],
)
def test_what_is_no_joint_is_one_line(s: list[float], gap: list[float], says: str) -> None:
    with pytest.raises(Mistake, match=says):
        Profile(np.array(s), np.array(gap), 0.0)
