"""The shop's time zone: names as they are typed, and when a day begins."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.shop import Shop
from seamlight.shop.settings import keep_setting
from seamlight.shop.zone import begins, day_at, shop_zone, zone_name, zone_of

VIENNA = ZoneInfo("Europe/Vienna")
# Clocks that change at midnight, by half an hour, in the other half of the year, or stand between hours.
CLOCKS = (
    "UTC",
    "Europe/Vienna",
    "America/Sao_Paulo",
    "America/Havana",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
)


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Europe/Vienna", "Europe/Vienna"),
        (" europe/VIENNA ", "Europe/Vienna"),
        ("new york", "America/New_York"),
        ("america/new_york", "America/New_York"),
        ("utc", "UTC"),
        ("", ""),
        ("  ", ""),
    ],
)
def test_a_name_as_a_maker_types_it(typed: str, name: str) -> None:
    assert zone_name(typed) == name


@pytest.mark.parametrize("typed", ["Middle/Earth", "CEST", "../etc/passwd", "Europe", "x" * 300, "\x00"])
def test_no_such_zone_is_one_line(typed: str) -> None:
    with pytest.raises(Mistake, match="no time zone is called") as told:
        zone_name(typed)
    assert "\n" not in str(told.value)


def test_the_day_the_clocks_change_has_23_hours() -> None:
    """In Vienna 02:00 became 03:00 on 29 March 2026."""
    first, after = begins(date(2026, 3, 29), VIENNA), begins(date(2026, 3, 30), VIENNA)
    assert first == datetime(2026, 3, 28, 23, tzinfo=UTC)
    assert after - first == timedelta(hours=23)


@given(st.dates(date(1980, 1, 1), date(2035, 12, 31)), st.sampled_from(CLOCKS))
def test_a_day_begins_when_it_becomes_that_day(day: date, name: str) -> None:
    zone = zone_of(name)
    start = begins(day, zone)
    assert day_at(start, zone) == day
    assert day_at(start - timedelta(seconds=1), zone) == day - timedelta(days=1)


def test_a_shop_without_a_zone_or_with_an_unknown_one_has_this_computers(shop: Shop) -> None:
    with shop.read() as session:
        assert shop_zone(session) is None
    for name, zone in (("Mars/Olympus", None), ("Europe/Vienna", VIENNA), ("", None)):
        with shop.change("owner") as change:
            keep_setting(change, "zone", name)
        with shop.read() as session:
            assert shop_zone(session) == zone
