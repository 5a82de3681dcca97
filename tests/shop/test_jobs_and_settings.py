"""Work in the background outlives a killed server; settings are kept with their versions."""

from __future__ import annotations

import pytest
from keeping import pair_with_photos
from sqlalchemy.exc import IntegrityError

from seamlight.mistake import Mistake
from seamlight.shop import Shop, jobs
from seamlight.shop.missing import Missing
from seamlight.shop.settings import keep_setting, setting, setting_version, settings
from seamlight.shop.tables import Weight
from seamlight.shop.wood import pair


def test_jobs_are_taken_in_turn_and_done(shop: Shop) -> None:
    with shop.change("owner") as change:
        first = jobs.ask(change, "read", {"pair": 1}, subject="pair", subject_id=1, of=2)
        again = jobs.ask(change, "read", {"pair": 1}, subject="pair", subject_id=1)
        jobs.ask(change, "read", {"pair": 2}, subject="pair", subject_id=2)
    assert again.id == first.id
    with shop.change("worker") as change:
        taken = jobs.take(change)
    assert taken is not None
    assert (taken.id, taken.state, taken.tries) == (first.id, "running", 1)
    with shop.change("worker") as change:
        assert jobs.progress(change, taken.id, 1, says="leaf B") is True
    with shop.read() as session:
        shown = jobs.jobs_of(session, "pair", 1)[0]
        assert (shown.done, shown.of, shown.says) == (1, 2, "leaf B")
        assert jobs.count_live(session) == 2
    with shop.change("owner") as change:
        jobs.stop(change, taken.id)
    with shop.change("worker") as change:
        assert jobs.progress(change, taken.id, 2) is False
        jobs.finish(change, taken.id)
        assert jobs.take(change, kinds=["layout"]) is None
    with shop.read() as session:
        assert [row.state for row in jobs.jobs(session, states=["stopped", "waiting"])] == [
            "stopped",
            "waiting",
        ]


def test_what_a_killed_server_left_running_waits_again_but_not_for_ever(shop: Shop) -> None:
    with shop.change("owner") as change:
        asked = jobs.ask(change, "read", {"pair": 1})
    for _ in range(jobs.MOST_TRIES):
        with shop.change("worker") as change:
            assert jobs.take(change) is not None
        with shop.change("worker") as change:
            left = jobs.start_over(change)
    assert [(row.id, row.state) for row in left] == [(asked.id, "failed")]
    with shop.change("owner") as change:
        assert jobs.take(change) is None
        jobs.try_again(change, asked.id)
        assert jobs.take(change) is not None


def test_settings_hold_anything_and_tell_the_later_one(shop: Shop) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "glue.hide", {"clamp_min": 60, "note": None}, expected_version=0)
        keep_setting(change, "glue_x", None)
        keep_setting(change, "unit", "inch")
    with shop.read() as session:
        assert setting(session, "glue.hide") == {"clamp_min": 60, "note": None}
        assert setting(session, "glue_x", "nothing") is None
        assert setting(session, "paper", "a4") == "a4"
        assert set(settings(session, "glue_")) == {"glue_x"}
        assert setting_version(session, "unit") == 1
    with pytest.raises(Mistake, match="unit: was set otherwise"), shop.change("owner") as change:
        keep_setting(change, "unit", "mm", expected_version=0)


def test_references_are_held_by_the_database(shop: Shop) -> None:
    with pytest.raises(IntegrityError), shop.change("owner") as change:
        change.session.add(Weight(pair_id=99, leaf="a", grams=1.0, at=change.at, by=change.who))


@pytest.mark.parametrize("number", [0, -1, 99, 2**31, 10**30])
def test_a_number_that_nothing_has_is_missing(shop: Shop, number: int) -> None:
    with shop.read() as session, pytest.raises(Missing, match=f"no pair {number}"):
        pair(session, number)


def test_a_number_is_never_given_twice(on_sqlite: Shop) -> None:
    number = pair_with_photos(on_sqlite, "T1")
    with on_sqlite.change("owner") as change:
        taken = jobs.ask(change, "read", {})
        change.session.delete(taken)
    with on_sqlite.change("owner") as change:
        assert jobs.ask(change, "read", {}).id == taken.id + 1
    assert number == 1
