"""Strokes learned, edges folded, leaves flat or not, clamps and wedges, and what comes after the clamps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.outline import named
from seamlight.seam.after import fit_again, judge_centre_line, judge_step
from seamlight.seam.bench import Bench
from seamlight.seam.clamping import clamp_count, rope_turns, wedge_drive, wedge_travel_mm
from seamlight.seam.closing import closing
from seamlight.seam.flatness import (
    cup_mm,
    judge_dryness,
    judge_flatness,
    twist_mm,
    weight_change_pct_per_week,
)
from seamlight.seam.folded import Edge, joint_of, joint_of_folded
from seamlight.seam.joining import glue_up, rig_can, wood_against
from seamlight.seam.leaf import leaf_of
from seamlight.seam.profile import Profile, fit_gap
from seamlight.seam.smoothed import gap_at_stations
from seamlight.seam.strokes import StrokeFigure, Strokes, Worked, learn, plan_strokes, stroke_counts
from seamlight.seam.take_off import depth_mm

S = np.linspace(0.0, 550.0, 111)


def worked(per_stroke_mm: float, strokes: tuple[Strokes, ...], noise_mm: float, seed: int) -> Worked:
    """A joint read before and after strokes, laid together a little otherwise the second time."""
    rng = np.random.default_rng(seed)
    before = 0.08 * np.sin(S / 90) ** 2
    after = before + 2 * per_stroke_mm * stroke_counts(S, strokes) + 0.04 - 0.0001 * S
    return Worked(
        Profile(S, before + rng.normal(0, noise_mm, S.size), 0.004),
        Profile(S, after + rng.normal(0, noise_mm, S.size), 0.004),
        strokes,
    )


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0.003, 0.03), st.integers(2, 12), st.integers(0, 300), st.integers(60, 200), st.integers(0, 99)
)
def test_a_figure_per_stroke_is_learned_from_before_and_after(
    per_stroke_mm: float, count: int, start: int, length: int, seed: int
) -> None:
    went = (Strokes(start, start + length, count, "120 grit"), Strokes(0, 550, 2, "120 grit"))
    exact = learn("120 grit", [worked(per_stroke_mm, went, 0.0, seed)])
    assert exact.per_stroke_mm == pytest.approx(per_stroke_mm, rel=1e-6)
    noisy = learn("120 grit", [worked(per_stroke_mm, went, 0.002, seed + k) for k in range(3)])
    assert noisy.per_stroke_mm == pytest.approx(per_stroke_mm, abs=0.004 / count)
    assert "learned from 3" in noisy.source


def test_what_teaches_nothing() -> None:
    whole = (Strokes(0, 550, 5, "120 grit"),)
    part = (Strokes(0, 200, 5, "120 grit"),)
    for readings, says in (
        ([worked(0.006, whole, 0.0, 1)], "no readings teach"),
        ([worked(0.006, (Strokes(0, 200, 5, "80 grit"),), 0.0, 1)], "no readings teach"),
        ([], "no readings teach"),
        ([worked(-0.006, part, 0.0, 1)], "add wood"),
    ):
        with pytest.raises(Mistake, match=says):
            learn("120 grit", readings)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.03, 0.4), st.floats(0.2, 0.8), st.booleans())
def test_planned_strokes_take_about_what_is_wanted(widest_mm: float, at: float, hump: bool) -> None:
    x = np.abs(S / 550 - at) / max(at, 1 - at)
    gap = widest_mm * (x**2 if hump else 1 - x**2)
    depth = depth_mm(fit_gap(Profile(S, gap, 0.003)))
    figures = (StrokeFigure("120 grit", 0.006, "learned"), StrokeFigure("220 grit", 0.003, "learned"))
    plan = plan_strokes(S, depth, figures)
    per = {figure.tool: figure.per_stroke_mm for figure in figures}
    taken = sum(per[one.tool] * stroke_counts(S, [one]) for one in plan) if plan else np.zeros(S.size)
    assert np.max(taken - depth) <= depth.max() / 3 / 2 + 0.007
    assert len({one.step for one in plan}) <= 3


def test_folded_edges_cancel_what_they_lean_and_double_what_they_bend() -> None:
    bend, lean = 0.05 * np.sin(np.pi * S / 550), 0.01 + 0.02 * S / 550
    folded = joint_of_folded(S, bend, lean, 4.0)
    assert folded.middle_mm == pytest.approx(2 * bend)
    assert folded.front_mm == pytest.approx(folded.back_mm)
    # planed one by one against the same fence the leans stand the same way and add up
    apart = joint_of(Edge(S, bend, lean), Edge(S, bend, lean), 4.0)
    assert apart.front_mm - apart.back_mm == pytest.approx(2 * lean * 4.0)


def test_flat_leaves_and_those_that_are_not() -> None:
    across = np.linspace(0, 200, 9)
    cup = 4.0 * (1 - (across / 100 - 1) ** 2)
    assert cup_mm(across, cup + 0.01 * across) == pytest.approx(4.0, abs=0.02)
    assert twist_mm((0, 0, 1.0, 0)) == pytest.approx(1.0)
    assert twist_mm((0, 1.0, 1.0, 0)) == 0.0  # tilted, not twisted
    assert judge_flatness(0.3, 0.2).flat
    cupped = judge_flatness(4.0, 0.0)
    assert not cupped.flat
    assert "sticker" in cupped.advice[0]
    assert "weigh it down" in cupped.advice[0]
    with pytest.raises(Mistake, match="below 0"):
        judge_flatness(-0.1, 0)


def test_dry_and_rested() -> None:
    days, grams = np.array([0.0, 7.0, 14.0]), np.array([200.0, 199.0, 198.0])
    change = weight_change_pct_per_week(days, grams)
    assert change == pytest.approx(-0.5, abs=0.01)
    assert judge_dryness((change, 0.1), (8.0, 8.2))[0].startswith("leaf A still loses")
    assert judge_dryness((0.1, None), (8.0, 9.5))[0].startswith("leaf A is at 8.0 %")
    assert judge_dryness((0.1, -0.1), (8.0, None)) == ()
    assert judge_dryness((0.1, -0.1), (11.9, 12.0)) == ()
    assert [line[:18] for line in judge_dryness((0.1, -0.1), (14.0, 14.2))] == [
        "leaf A is at 14.0 ",
        "leaf B is at 14.2 ",
    ]
    with pytest.raises(Mistake, match="one weighing"):
        weight_change_pct_per_week(days[:1], grams[:1])


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 40), st.floats(0.05, 0.6), st.floats(10, 5000))
def test_wedges(angle_deg: float, friction: float, force_n: float) -> None:
    drive = wedge_drive(force_n, angle_deg, friction)
    assert drive.drive_n > force_n * np.tan(np.radians(angle_deg))
    assert drive.holds == (angle_deg <= drive.steepest_deg)
    assert wedge_drive(force_n, angle_deg, friction + 0.05).drive_n > drive.drive_n


def test_what_is_no_wedge_clamp_or_rope() -> None:
    for wrong in (0, -5, 45, 90):
        with pytest.raises(Mistake, match="no wedge"):
            wedge_drive(1000, wrong)
    with pytest.raises(Mistake, match="friction"):
        wedge_drive(1000, 5, 1.5)
    with pytest.raises(Mistake, match="does nothing"):
        clamp_count(1000, 550, 200, 0)
    with pytest.raises(Mistake, match="does nothing"):
        rope_turns(1000, -1)
    assert wedge_travel_mm(1.0, 5) == pytest.approx(11.43, abs=0.01)


def test_wood_that_is_too_wet_or_too_dry_for_the_glue() -> None:
    glue = Bench().glue
    low, high = glue.wood_mc_pct.low, glue.wood_mc_pct.high
    assert wood_against((low, high), glue) == ()
    assert wood_against((None, None), glue) == ()
    (wet,) = wood_against((None, high + 1.5), glue)
    assert wet.startswith(f"leaf B was at {high + 1.5:.1f} % by meter")
    assert "let it dry first" in wet
    assert "take up moisture" in wood_against((low - 1, None), glue)[0]


def test_a_glue_up() -> None:
    plan = glue_up(Bench(), 550, closing_mpa=0.1, air=(9.0, 45.0))
    assert plan.wanted.area_mm2 == 2200
    assert plan.wanted.force_low_n == pytest.approx(0.689 * 2200)
    assert plan.wanted.left_for_glue_mpa == pytest.approx(0.589)
    assert plan.weather is not None
    assert not plan.weather.ok
    assert plan.mc_pct == pytest.approx(8.5, abs=0.2)
    assert plan.wedge.holds
    assert "pull the leaves apart" in plan.if_it_goes_wrong
    assert rig_can("rope", 0.2, 0.2)[0]
    assert not rig_can("rope", 0.3, 0.3)[0]


@pytest.mark.parametrize(("step_mm", "ok"), [(0.05, True), (0.1, True), (0.15, False), (1.0, False)])
def test_case_26_a_step_against_the_thickness_still_to_come_off(step_mm: float, ok: bool) -> None:
    # plates of 2.7 mm for a target of 2.5
    verdict = judge_step(step_mm, 2.7, 2.5)
    assert verdict.ok is ok
    assert verdict.says.startswith("yes" if ok else "no")


def test_a_plate_that_is_too_thin_already() -> None:
    with pytest.raises(Mistake, match="thinner"):
        judge_step(0.1, 2.4, 2.5)


def test_the_centre_line_is_checked_at_both_ends() -> None:
    assert judge_centre_line(0.3, -0.4)[0]
    ok, says = judge_centre_line(0.0, 6.0)
    assert not ok
    assert "both ends" in says


def test_the_outline_on_the_joined_plate() -> None:
    outline = named("dreadnought")
    y = np.array([0.0, outline.length_mm])
    room = fit_again(outline, y, np.array([205.0, 205.0]), np.array([200.0, 200.0]))
    assert room.left_mm == pytest.approx(205 - 198.5 - 3, abs=0.2)
    assert room.right_mm == pytest.approx(200 - 198.5 - 3, abs=0.2)
    assert room.at_right_mm == pytest.approx(362, abs=12)
    with pytest.raises(Mistake, match="two places"):
        fit_again(outline, y[:1], np.array([205.0]), np.array([205.0]))


@settings(max_examples=40, deadline=None)
@given(st.integers(3, 40), st.integers(0, 10_000), st.sampled_from([0.0, 0.005, 0.01]))
def test_a_reading_at_the_stations_stays_within_what_was_read(count: int, seed: int, error_mm: float) -> None:
    rng = np.random.default_rng(seed)
    s = np.sort(rng.choice(np.arange(0, 551, 5), count, replace=False)).astype(float)
    fit = fit_gap(Profile(s, np.round(0.2 * rng.random(count), 2), error_mm))
    gap = gap_at_stations(fit, leaf_of(550, 200, 4))
    assert gap.min() == pytest.approx(0.0, abs=1e-12)
    # smoothed it stays between 0 and the widest read, and its touching line, which meets the hull over the
    # middle, lies at or above 0 there and below the widest at both ends: so no lower than -widest at either
    assert gap.max() <= 2.0 * fit.gap_mm.max() + 1e-9


@pytest.mark.parametrize("noise_mm", [0.0, 0.0025])
def test_noise_within_the_error_does_not_hold_a_leaf_open(noise_mm: float) -> None:
    noise = np.random.default_rng(3).normal(0, noise_mm, S.size)
    hollow = 0.1 * (1 - (2 * S / 550 - 1) ** 2)
    pulls = closing(fit_gap(Profile(S, hollow + noise, 0.005)), leaf_of(550, 200, 4))
    assert pulls.firm.pressure_mpa == pytest.approx(0.098, rel=0.1)
