"""The clamps: what is in them, until when, and that promises made stay."""

from datetime import timedelta
from pathlib import Path

import pytest

from laid_pairs import T0, shop_in
from seamlight.mistake import Mistake
from seamlight.shop.clamps import clock_of, end_clamps, in_clamps, last_clamps, shop_glues, start_clamps
from seamlight.shop.glues import Span, glue_of
from seamlight.shop.history import history
from seamlight.shop.settings import keep_setting
from seamlight.shop.wood import new_pair


def test_into_and_out_of_the_clamps(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        with shop.change("owner") as change:
            ids = [new_pair(change, kind="top").id for _ in range(2)]
            start_clamps(change, glue_of("pva", shop_glues(change.session)), pair_ids=ids, rh_pct=45.0)
        with shop.read() as session:
            rows = in_clamps(session)
            assert [row.pair_id for row in rows] == ids
            assert {row.off_at for row in rows} == {T0 + timedelta(hours=1)}
            assert {row.work_at for row in rows} == {T0 + timedelta(hours=24)}
        clock.forward(hours=2)
        with shop.change("owner") as change:
            assert len(end_clamps(change, [row.id for row in rows])) == 2
            assert end_clamps(change, [rows[0].id]) == []
        with shop.read() as session:
            assert in_clamps(session) == []
            last = last_clamps(session, ids)[ids[0]]
            found = clock_of(last, shop_glues(session))
            assert found is not None
            assert found.thickness_at == T0 + timedelta(days=7)
            told = [line.what for line in history(session, "pair", ids[0])]
            assert told[:2] == ["out of the clamps", "into the clamps"]


def test_a_pair_is_not_glued_twice_at_once(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            number = new_pair(change, kind="top").id
            glue = glue_of("pva", shop_glues(change.session))
            start_clamps(change, glue, pair_ids=[number])
        with pytest.raises(Mistake, match="T1 is in the clamps already"), shop.change("owner") as change:
            start_clamps(change, glue, pair_ids=[number])


def test_the_shops_own_figures_win_and_earlier_promises_stay(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        with shop.change("owner") as change:
            first = new_pair(change, kind="top").id
            glue = glue_of("pva", shop_glues(change.session))
            start_clamps(change, glue, pair_ids=[first])
            slow = glue.model_copy(
                update={
                    "clamp": Span(least_min=180, usual_min=240),
                    "rest": Span(least_min=14400, usual_min=20160),
                }
            )
            keep_setting(change, "glues", [slow.model_dump(mode="json")])
        clock.forward(minutes=10)
        with shop.change("owner") as change:
            second = new_pair(change, kind="top").id
            start_clamps(change, glue_of("pva", shop_glues(change.session)), pair_ids=[second])
        with shop.read() as session:
            one, two = (last_clamps(session, [first, second])[number] for number in (first, second))
            glues = shop_glues(session)
        assert one.off_at == T0 + timedelta(hours=1)
        assert two.off_at == T0 + timedelta(hours=4, minutes=10)
        clocks = clock_of(one, glues), clock_of(two, glues)
        assert clocks[0] is not None
        assert clocks[1] is not None
        assert clocks[0].off_at == one.off_at
        assert clocks[1].thickness_at == T0 + timedelta(days=14, minutes=10)
        assert clock_of(one, ()) is None


def test_a_slip_of_the_pen_is_refused(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        number = new_pair(change, kind="top").id
        glue = glue_of("pva", shop_glues(change.session))
        for at in (T0 + timedelta(hours=1), T0 - timedelta(days=400)):
            with pytest.raises(Mistake, match="not when it was glued"):
                start_clamps(change, glue, pair_ids=[number], glued_at=at)
        with pytest.raises(Mistake, match="nothing was put"):
            start_clamps(change, glue)
        with pytest.raises(Mistake, match="no line 99"):
            end_clamps(change, [99])
        (row,) = start_clamps(change, glue, pair_ids=[number], glued_at=T0 - timedelta(minutes=40))
        assert row.off_at == T0 + timedelta(minutes=20)
