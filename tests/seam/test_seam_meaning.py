"""What readings mean: shapes, verdicts, advice, and the problem cases of the trade."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.seam.advice import BACK_TO_THE_MACHINE, ROOM_UNKNOWN, UNSEEN, advise
from seamlight.seam.bench import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.light_reading import LightReading
from seamlight.seam.meaning import Meaning, judge_gap, judge_light, judge_readings
from seamlight.seam.profile import Profile, fit_gap, mirrored
from seamlight.seam.progress import progress
from seamlight.seam.readings import Readings
from seamlight.seam.shape import shape_of_gap

LENGTH = 550.0
S = np.linspace(0.0, LENGTH, 111)
X = S / LENGTH
BENCH = Bench()


def hollow(depth_mm: float) -> np.ndarray:
    return depth_mm * (1 - (2 * X - 1) ** 2)


def judged(gap_mm: np.ndarray, bench: Bench = BENCH, **more: object) -> Meaning:
    return judge_gap(Profile(S, gap_mm, 0.005), bench, **more)  # type: ignore[arg-type]


GAPS = {
    "closed": np.full(S.size, 0.05) + 0.1 * X,
    "hollow": hollow(0.1),
    "hump": 0.1 * (2 * X - 1) ** 2,
    "open at neck end": 0.1 * np.clip((0.3 - X) / 0.3, 0, 1),
    "open at tail end": 0.1 * np.clip((X - 0.7) / 0.3, 0, 1),
    "patches": 0.08 * (np.exp(-(((X - 0.3) / 0.05) ** 2)) + np.exp(-(((X - 0.7) / 0.05) ** 2))),
}
MIRRORED = {"open at neck end": "open at tail end", "open at tail end": "open at neck end"}


@pytest.mark.parametrize("shape", GAPS)
@pytest.mark.parametrize("noise_mm", [0.0, 0.002])
def test_shapes(shape: str, noise_mm: float) -> None:
    gap = GAPS[shape] + np.random.default_rng(5).normal(0, noise_mm, S.size)
    assert judged(gap).shape == shape


@pytest.mark.parametrize("shape", GAPS)
def test_a_mirrored_joint_has_the_mirrored_meaning(shape: str) -> None:
    seen = Profile(S, GAPS[shape], 0.005)
    there, back = judge_gap(seen, BENCH), judge_gap(mirrored(seen), BENCH)
    assert back.shape == MIRRORED.get(shape, shape)
    assert back.verdict == there.verdict
    assert back.widest_mm == pytest.approx(there.widest_mm)
    assert back.closing is not None
    assert there.closing is not None
    assert back.closing.firm.pressure_mpa == pytest.approx(
        there.closing.firm.pressure_mpa, rel=1e-3, abs=1e-4
    )
    turned = np.array(sorted((LENGTH - b, LENGTH - a) for a, b in back.touching))
    assert turned == pytest.approx(np.array(there.touching), abs=1e-6)


def test_case_29_light_at_both_ends_tight_in_the_middle() -> None:
    meaning = judged(GAPS["hump"], Bench(room_mm=1.4))
    assert meaning.shape == "hump"
    assert meaning.feasible is False
    assert meaning.verdict == "a few strokes"
    for one in meaning.strokes:
        assert one.from_mm > 10
        assert one.to_mm < LENGTH - 10
    said = " ".join(advise(meaning, BENCH))
    assert "clamps cannot mend this" in said
    assert "one or two light strokes from end to end" in said


@pytest.mark.parametrize(
    ("depth_mm", "verdict", "psi"), [(0.1, "glue", 15), (0.3, "a few strokes", 45), (0.6, "plane again", 90)]
)
def test_case_30_tight_at_the_ends_light_in_the_middle(depth_mm: float, verdict: str, psi: float) -> None:
    meaning = judged(hollow(depth_mm))
    assert meaning.shape == "hollow"
    assert meaning.verdict == verdict
    assert meaning.closing is not None
    assert meaning.closing.firm.pressure_mpa * 145.038 == pytest.approx(psi, rel=0.08)
    assert meaning.closing.firm.stays_mpa == pytest.approx(meaning.closing.firm.pressure_mpa, rel=0.02)
    assert meaning.closing.firm.at_mm == pytest.approx(LENGTH / 2, abs=0.15 * LENGTH)
    assert meaning.wanted is not None
    assert meaning.wanted.left_for_glue_mpa == pytest.approx(
        0.689 - meaning.closing.firm.pressure_mpa, abs=1e-9
    )


def test_a_forced_hump_pulls_at_its_ends() -> None:
    closing = judged(GAPS["hump"]).closing
    assert closing is not None
    assert min(closing.firm.at_mm, LENGTH - closing.firm.at_mm) < 0.1 * LENGTH


def test_case_33_a_feeler_on_one_face_only() -> None:
    readings = Readings(S, np.zeros(S.size), np.full(S.size, 0.1))
    meaning = judge_readings(readings, BENCH)
    assert meaning.square is not None
    assert meaning.square.out_of_square_deg == pytest.approx(-np.degrees(np.arctan(0.1 / 4)))
    assert abs(meaning.square.wind_mm) < 1e-9
    assert meaning.verdict == "a few strokes"
    assert "what they lean cancels" in " ".join(advise(meaning, BENCH))


def test_wind() -> None:
    readings = Readings(S, 0.1 * X, 0.1 * (1 - X))
    meaning = judge_readings(readings, BENCH)
    assert meaning.shape == "wind"
    assert meaning.verdict == "plane again"
    assert meaning.square is not None
    assert meaning.square.wind_mm == pytest.approx(0.2)
    assert meaning.widest_mm == pytest.approx(0.1)
    assert meaning.feasible is False


def test_folded_edges_open_twice_and_their_lean_is_gone() -> None:
    edge = Readings(S, hollow(0.04), hollow(0.04) + 0.1)
    folded, joint = judge_readings(edge, BENCH, of="folded"), judge_readings(edge, BENCH, of="joint")
    assert folded.square is None
    assert joint.square is not None
    assert folded.widest_mm == pytest.approx(2 * 0.04)
    assert joint.widest_mm == pytest.approx(0.04)
    assert folded.deepest_mm == pytest.approx(0.04, abs=0.002)


def test_never_more_than_the_room_that_is_left() -> None:
    deep = judged(hollow(0.3), Bench(room_mm=0.1))
    assert deep.deepest_mm == pytest.approx(0.15, abs=0.003)
    assert deep.verdict == "plane again"
    said = " ".join(advise(deep, Bench(room_mm=0.1)))
    assert "do not" in said
    assert "next, leaves folded" not in said
    assert "plane again: fold" not in said
    assert deep.strokes == (), "none are drawn either"
    assert judged(hollow(0.3), Bench(room_mm=0.4)).strokes
    enough = advise(judged(hollow(0.3), Bench(room_mm=0.4)), Bench(room_mm=0.4))
    assert any("of the room on the layout stays" in line for line in enough)


def test_one_edge_alone_is_not_planed_beyond_the_room_either() -> None:
    readings = Readings(S, hollow(0.2), None)
    for room_mm, says in (
        (0.15, "never this edge alone: it would take 0.20 mm"),
        (0.4, "off this edge alone"),
    ):
        bench = Bench(room_mm=room_mm)
        meaning = judge_readings(readings, bench, of="one-edge")
        assert meaning.verdict == "a few strokes"
        assert any(line.startswith(says) for line in advise(meaning, bench))


def test_without_a_layout_the_room_is_said_to_be_unknown() -> None:
    assert ROOM_UNKNOWN in advise(judged(hollow(0.3)), BENCH)
    assert ROOM_UNKNOWN not in advise(judged(hollow(0.05)), BENCH), "glue: nothing comes off"
    assert ROOM_UNKNOWN not in advise(judged(hollow(0.3), Bench(room_mm=0.4)), Bench(room_mm=0.4))


def test_a_length_of_no_guitar_and_a_slipped_point_are_asked_about() -> None:
    short = judge_readings(Readings(S / 10, hollow(0.1), None), BENCH)
    assert any("joint of 55 mm is shorter than any guitar's" in line for line in short.warnings)
    assert judge_readings(Readings(S, hollow(0.1), None), BENCH).warnings == ()
    slipped = Readings(np.array([0.0, 200.0, 300.0, 550.0]), np.array([0.0, 0.05, 0.5, 0.05]), None)
    assert any("or was it 0.05 mm?" in line for line in judge_readings(slipped, BENCH).warnings)


def test_three_passes_that_make_it_worse() -> None:
    fits = [fit_gap(Profile(S, hollow(depth), 0.005)) for depth in (0.15, 0.2, 0.25)]
    going_on = judged(hollow(0.3), Bench(before=tuple(fits[1:])))
    assert going_on.progress is not None
    assert going_on.progress.ways == ("first", "worse", "worse")
    assert not going_on.progress.stop
    bench = Bench(before=tuple(fits))
    stopped = judged(hollow(0.3), bench)
    assert stopped.verdict == "plane again"
    assert BACK_TO_THE_MACHINE in advise(stopped, bench)
    assert stopped.strokes == ()
    better = judged(hollow(0.05), bench)
    assert better.progress is not None
    assert better.progress.ways[-1] == "better"
    assert "worse than the last reading: widest 8 thou then, 10 thou now" in progress(fits).says("inch")
    assert better.verdict == "glue"
    assert better.strokes == (), "glue it: nothing is to be sanded"


@pytest.mark.parametrize("relative", [False, True])
def test_a_closed_reading_always_says_what_light_cannot_see(relative: bool) -> None:
    said = advise(judge_light(light_reading(np.zeros(S.size), relative), BENCH), BENCH)
    assert UNSEEN in said


def light_reading(gap_mm: np.ndarray, relative: bool) -> LightReading:
    return LightReading(
        s_mm=S,
        light=np.clip(gap_mm / 0.5, 0, 1),
        gap_mm=None if relative else gap_mm,
        error_mm=None if relative else 0.005,
        measured="relative" if relative else "width",
        touching=gap_mm < 0.01,
        length_mm=LENGTH,
        lower_bound=True,
        warnings=("seen from one place",),
        straight=np.zeros((2, 2, 3), dtype=np.uint8),
        straight_px_per_mm=1.0,
        ends_px=((0.0, 0.0), (1.0, 0.0)),
    )


@pytest.mark.parametrize("shape", GAPS)
def test_light_without_a_width_still_says_the_shape(shape: str) -> None:
    gap = fit_gap(Profile(S, GAPS[shape], 0.0)).gap_mm
    meaning = judge_light(light_reading(gap, relative=True), BENCH)
    assert meaning.shape == shape
    document = SeamDocument.of_meaning(meaning, BENCH)
    assert document.measured == "relative"
    assert document.gap_mm is None
    assert document.fit_gap_mm is None
    assert document.pull_together is None
    assert any("width is not known" in line for line in document.warnings)
    assert (document.verdict == "glue") == (shape == "closed")


def test_light_with_a_width_means_what_feelers_mean() -> None:
    by_light = judge_light(light_reading(hollow(0.1), relative=False), BENCH)
    by_feeler = judged(hollow(0.1))
    assert by_light.shape == by_feeler.shape
    assert by_light.verdict == by_feeler.verdict
    assert by_light.lower_bound


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(0, 400), min_size=4, max_size=12), st.sampled_from(["joint", "one-edge", "folded"])
)
def test_any_readings_give_a_whole_document(gaps: list[int], of: str) -> None:
    s = np.linspace(0, 500, len(gaps))
    meaning = judge_readings(Readings(s, np.array(gaps) / 1000, None), BENCH, of=of)  # type: ignore[arg-type]
    document = json.loads(SeamDocument.of_meaning(meaning, BENCH).to_json())
    assert document["schema"] == "seamlight/seam/1"
    assert "NaN" not in json.dumps(document)
    assert min(document["fit_gap_mm"]) == 0
    assert document["shape"] in GAPS
    depths = [one["depth_mm"] for one in document["take_off"]]
    assert all(depth > 0 for depth in depths)
    closing = document["pull_together"]
    assert closing["force_n"] == pytest.approx(closing["pressure_mpa"] * 500 * 4, rel=1e-3, abs=0.2)
    assert closing["yielding_mpa"] <= closing["pressure_mpa"] + 1e-6


def test_a_hardwood_wants_more_and_oily_wood_is_warned_of() -> None:
    bench = Bench(species_name="Indian rosewood")
    rosewood, spruce = judged(hollow(0.1), bench), judged(hollow(0.1), Bench(species_name="Sitka spruce"))
    assert rosewood.closing is not None
    assert spruce.closing is not None
    assert rosewood.closing.firm.pressure_mpa > spruce.closing.firm.pressure_mpa
    assert any("acetone" in line for line in advise(rosewood, bench))
    for said in ("cocobolo", "a wood with no name here; Dalbergia retusa", "Macassar ebony"):
        known = Bench(wood_said=said)
        assert any("acetone" in line for line in advise(judged(hollow(0.1), known), known))
    assert not any("acetone" in line for line in advise(spruce, BENCH))


def test_readings_that_miss_an_end_and_readings_beyond_it() -> None:
    readings = Readings(S, hollow(0.1), None)
    missed = judge_readings(readings, BENCH, length_mm=700)
    assert any("tail end were not read" in line for line in missed.warnings)
    with pytest.raises(Mistake, match="only 550 mm of the joint's 1200 mm"):
        judge_readings(readings, BENCH, length_mm=1200)
    with pytest.raises(Mistake, match="beyond the joint"):
        judge_readings(readings, BENCH, length_mm=500)


def test_a_leaf_that_no_one_has() -> None:
    with pytest.raises(Mistake, match="is no leaf"):
        judged(hollow(0.1), Bench(thickness_mm=400))
    with pytest.raises(Mistake, match="no species"):
        judged(hollow(0.1), Bench(species_name="unobtainium"))


def test_lengths_are_said_in_the_shops_unit() -> None:
    inch = Bench(unit="inch")
    said = " ".join(advise(judged(GAPS["hump"], inch), inch))
    assert "thou" in said
    assert " mm" not in said


def test_noise_alone_is_closed() -> None:
    noisy = Profile(S, 0.05 + np.random.default_rng(7).normal(0, 0.0015, S.size), 0.01)
    assert shape_of_gap(fit_gap(noisy)) == "closed"


def test_a_shop_in_inches_is_told_where_in_eighths() -> None:
    meaning = judged(hollow(0.3))
    lines = " ".join(advise(meaning, replace(BENCH, unit="inch")))
    assert re.search(r"strokes from 0 in to \d+( [1357]/8| [13]/4| 1/2)? in and from", lines)
    assert "/64" not in lines
