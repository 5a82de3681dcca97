"""Glue clocks: when a joint may leave the clamps, be planed, be thicknessed."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.shop.clocks import glue_clock, left, shown, zone_of
from seamlight.shop.glues import STARTING_GLUES, Glue, Span, glue_of, glues_from

T0 = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
PVA = glue_of("pva", STARTING_GLUES)


def test_yellow_pva_by_the_rules_of_the_trade() -> None:
    """Half an hour to an hour in clamps, a day unstressed, a week of rest: common practice, no source."""
    clock = glue_clock(PVA, T0)
    assert clock.off_earliest_at == T0 + timedelta(minutes=30)
    assert clock.off_at == T0 + timedelta(minutes=60)
    assert clock.work_at == T0 + timedelta(hours=24)
    assert clock.thickness_earliest_at == T0 + timedelta(days=3)
    assert clock.thickness_at == T0 + timedelta(days=7)
    assert clock.warnings == ()


def test_the_state_follows_the_clock() -> None:
    clock = glue_clock(PVA, T0)
    for after, state, then in (
        (timedelta(0), "in the clamps", clock.off_at),
        (timedelta(minutes=59, seconds=59), "in the clamps", clock.off_at),
        (timedelta(minutes=60), "out, not to be stressed", clock.work_at),
        (timedelta(hours=24), "may be planed", clock.thickness_at),
        (timedelta(days=7), "may be thicknessed", None),
    ):
        assert (clock.state(T0 + after), clock.next_at(T0 + after)) == (state, then)


def test_every_glue_names_the_standing_of_each_time() -> None:
    for glue in STARTING_GLUES:
        assert glue.checked() == glue
        for span in (glue.clamp, glue.work, glue.rest):
            assert span.standing in ("read", "transcribed", "from memory")
            assert span.source


def test_cold_wet_wood_is_said() -> None:
    warnings = " ".join(glue_clock(PVA, T0, temp_c=9.0, rh_pct=65.0, wood_mc_pct=10.5).warnings)
    assert "9 °C is below the 10 °C" in warnings
    assert "10.5 % moisture" in warnings
    assert "65 %, above 50 %" in warnings
    assert glue_clock(PVA, T0, temp_c=10.0, wood_mc_pct=9.0).warnings == ()


def test_the_shops_own_figures_win() -> None:
    own = PVA.model_copy(update={"clamp": Span(least_min=90, usual_min=120)})
    glues = glues_from([own.model_dump(mode="json")])
    assert glue_clock(glue_of("pva", glues), T0).off_at == T0 + timedelta(hours=2)
    assert glue_of("pva", glues).clamp.standing == "the shop's own"
    assert len(glues) == len(STARTING_GLUES)


def test_a_glue_of_ones_own_is_added() -> None:
    own = Glue(
        key="rabbit skin",
        name="Rabbit-skin glue",
        clamp=Span(least_min=60, usual_min=90),
        work=Span(least_min=600, usual_min=720),
        rest=Span(least_min=4000, usual_min=5000),
    )
    assert glue_of("rabbit skin", glues_from([own.model_dump()])) == own


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"work": {"least_min": 5, "usual_min": 10}}, "planed before it leaves the clamps"),
        ({"clamp": {"least_min": 60, "usual_min": 30}}, "usual time is below the least"),
        ({"rest": {"least_min": 60, "usual_min": 1440}}, "thicknessed before it may be planed"),
        ({"clamp": {"least_min": 0, "usual_min": 30}}, "greater than 0"),
    ],
)
def test_times_in_the_wrong_order_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(Mistake, match=words):
        glues_from([{**PVA.model_dump(), **change}])


def test_an_unknown_glue_lists_those_there_are() -> None:
    with pytest.raises(Mistake, match="choose one of: pva"):
        glue_of("mud", STARTING_GLUES)


def test_a_time_without_its_zone_is_refused() -> None:
    with pytest.raises(Mistake, match="without its zone"):
        glue_clock(PVA, datetime(2026, 3, 28, 20, 0))


def test_a_glue_up_across_the_change_of_the_clocks_takes_as_long() -> None:
    """In Vienna 02:00 became 03:00 on 29 March 2026: 24 hours after 21:00 are 22:00 by the wall."""
    vienna = zone_of("Europe/Vienna")
    clock = glue_clock(PVA, T0)
    assert shown(T0, T0, vienna) == "today 21:00"
    assert shown(clock.work_at, T0, vienna) == "tomorrow 22:00"
    assert shown(clock.thickness_at, T0, vienna) == "Sat 4 Apr, 22:00"
    assert shown(T0 - timedelta(days=1), T0, vienna) == "yesterday 21:00"
    assert shown(datetime(2027, 1, 5, 8, tzinfo=UTC), T0, vienna) == "Tue 5 Jan 2027, 09:00"


def test_no_such_zone() -> None:
    for name in ("Nowhere/Here", "../etc/passwd", ""):
        with pytest.raises(Mistake, match="no time zone"):
            zone_of(name)


@pytest.mark.parametrize(
    ("wait", "said"),
    [
        (timedelta(0), "0 min"),
        (timedelta(seconds=-5), "0 min"),
        (timedelta(seconds=1), "1 min"),
        (timedelta(minutes=40), "40 min"),
        (timedelta(hours=3, minutes=5), "3 h 05 min"),
        (timedelta(days=1), "1 day"),
        (timedelta(days=2, hours=4, minutes=59), "2 days 4 h"),
    ],
)
def test_how_long_is_left(wait: timedelta, said: str) -> None:
    assert left(T0 + wait, T0) == said


SPANS = st.lists(st.floats(0.5, 20000), min_size=6, max_size=6).map(sorted)


@given(minutes=SPANS, wait=st.floats(0, 30000))
@settings(max_examples=60, deadline=None)
def test_states_only_ever_move_forward(minutes: list[float], wait: float) -> None:
    first, second, third = (
        Span(least_min=a, usual_min=b)
        for a, b in zip(
            (minutes[0], minutes[1], minutes[2]), (minutes[3], minutes[4], minutes[5]), strict=True
        )
    )
    glue = Glue(key="any", name="Any", clamp=first, work=second, rest=third).checked()
    clock = glue_clock(glue, T0)
    order = ["in the clamps", "out, not to be stressed", "may be planed", "may be thicknessed"]
    now = T0 + timedelta(minutes=wait)
    assert order.index(clock.state(now)) <= order.index(clock.state(now + timedelta(minutes=1)))
    then = clock.next_at(now)
    assert then is None or (then > now and clock.state(then) != clock.state(now))
