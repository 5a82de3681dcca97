"""The bench at one moment: what can be done now, what has to wait and until when."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from seamlight.shop.bench import Piece, bench
from seamlight.shop.clocks import glue_clock
from seamlight.shop.glues import STARTING_GLUES, glue_of
from seamlight.shop.stages import STAGES

T0 = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
CLOCK = glue_clock(glue_of("pva", STARTING_GLUES), T0)
GLUED = Piece(1, "T1", "top", "joined", clock=CLOCK, clamp_id=5)


def keys(piece: Piece, now: datetime) -> tuple[list[str], list[tuple[str, datetime | None]]]:
    found = bench([piece], now)
    return [job.key for job in found.now], [(w.for_what.split()[0], w.until) for w in found.waiting]


@pytest.mark.parametrize(
    ("stage", "key"),
    [
        ("rough", "choose"),
        ("laid out", "joint"),
        ("jointed", "join"),
        ("joined", "rest"),
        ("rested", "thickness"),
        ("thicknessed", "use"),
    ],
)
def test_each_stage_is_ready_for_its_next_step(stage: str, key: str) -> None:
    assert keys(Piece(1, "T1", "top", stage), T0) == ([key], [])


def test_an_opening_once_chosen_makes_it_ready_to_joint() -> None:
    assert keys(Piece(1, "T1", "top", "rough", chosen=True), T0) == (["joint"], [])


def test_used_wood_has_left_the_bench() -> None:
    assert keys(Piece(1, "T1", "top", "used"), T0) == ([], [])


def test_a_glued_pair_waits_step_by_step() -> None:
    out = replace(GLUED, clamp_id=None)
    assert keys(GLUED, T0) == ([], [("in", CLOCK.off_at)])
    assert keys(GLUED, CLOCK.off_at) == (["unclamp"], [("not", CLOCK.work_at)])
    assert keys(out, CLOCK.off_at) == ([], [("not", CLOCK.work_at)])
    assert keys(out, CLOCK.work_at) == ([], [("rests", CLOCK.thickness_at)])
    assert keys(out, CLOCK.thickness_at) == (["rest"], [])


def test_rest_noted_too_early_is_said() -> None:
    early = replace(GLUED, clamp_id=None, stage="rested")
    assert keys(early, T0 + timedelta(days=2)) == ([], [("noted", CLOCK.thickness_earliest_at)])
    assert keys(early, T0 + timedelta(days=4)) == (["thickness"], [])


def test_what_is_nearly_done_comes_first_and_nothing_gets_lost() -> None:
    pieces = [Piece(n, f"T{n}", "top", stage) for n, stage in enumerate(STAGES)]
    found = bench([*pieces, replace(GLUED, pair_id=9)], CLOCK.off_at)
    assert [job.key for job in found.now] == [
        "use",
        "thickness",
        "rest",
        "unclamp",
        "join",
        "joint",
        "choose",
    ]
    told = {p.pair_id for job in found.now for p in job.pieces} | {w.piece.pair_id for w in found.waiting}
    assert told == {0, 1, 2, 3, 4, 5, 9}


def test_what_was_not_reached_is_there_tomorrow() -> None:
    piece = Piece(1, "T1", "top", "laid out", since=T0)
    assert bench([piece], T0).now == bench([piece], T0 + timedelta(days=30)).now
