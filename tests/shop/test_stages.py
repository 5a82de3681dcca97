"""Stages: many pairs in one change, all or none, each with its date, its person and its history."""

from pathlib import Path

import pytest

from laid_pairs import T0, shop_in
from seamlight.mistake import Mistake
from seamlight.shop.history import history
from seamlight.shop.stages import STAGES, last_moves, move, next_stage, pairs_under_way, stage_events
from seamlight.shop.wood import delete_pair, new_pair, pair


def test_many_pairs_move_in_one_change(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        with shop.change("owner") as change:
            ids = [new_pair(change, kind="top").id for _ in range(3)]
        clock.forward(hours=3)
        with shop.change("bench phone") as change:
            moved = move(change, [*ids, ids[0]], "jointed", note="after lunch")
        assert [row.id for row in moved] == ids
        with shop.read() as session:
            for number in ids:
                assert pair(session, number).stage == "jointed"
                (event,) = stage_events(session, number)
                assert (event.stage, event.by, event.note) == ("jointed", "bench phone", "after lunch")
                assert (event.at - T0).total_seconds() == 3 * 3600
                newest = history(session, "pair", number)[0]
                assert (newest.what, newest.before, newest.after) == (
                    "now jointed",
                    {"stage": "rough"},
                    {"stage": "jointed"},
                )
            assert set(last_moves(session, ids)) == set(ids)
            assert [row.id for row in pairs_under_way(session)] == ids


def test_all_or_none(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            first, gone = new_pair(change, kind="top").id, new_pair(change, kind="top").id
            delete_pair(change, gone)
        with pytest.raises(Mistake, match="was deleted"), shop.change("owner") as change:
            move(change, [first, gone], "jointed")
        with shop.read() as session:
            assert pair(session, first).stage == "rough"
            assert stage_events(session, first) == []


def test_pressing_twice_is_once(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            number = new_pair(change, kind="top").id
        for _ in range(2):
            with shop.change("owner") as change:
                move(change, [number], "joined")
        with shop.read() as session:
            assert len(stage_events(session, number)) == 1


def test_a_stage_may_be_gone_back_to(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            number = new_pair(change, kind="top").id
            move(change, [number], "joined")
            move(change, [number], "jointed", note="opened again")
        with shop.read() as session:
            assert [event.stage for event in stage_events(session, number)] == ["joined", "jointed"]


def test_nothing_ticked_and_no_such_stage(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        with pytest.raises(Mistake, match="no pair was ticked"):
            move(change, [], "jointed")
        with pytest.raises(Mistake, match="no stage"):
            move(change, [1], "polished")


def test_every_stage_has_its_next() -> None:
    assert [next_stage(stage) for stage in STAGES] == [*STAGES[1:], None]
