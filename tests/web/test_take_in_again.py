"""What came in before: another scale, the same picture again, what was matched; pages only read it."""

from __future__ import annotations

import re

import pytest
from asking import Browser
from came_in import (
    come_in,
    compare,
    looked_at,
    looks_asked,
    nothing_under_way,
    picture,
    said_of,
    send,
    some_figure,
    sorted_groups,
)

from seamlight.shop import arrivals_met, jobs
from seamlight.shop.arrivals import arrivals
from seamlight.shop.arrivals_met import Meetings, Met, keep_meetings
from seamlight.shop.shop import Shop
from seamlight.shop.taking_in import look_key


def test_a_wrong_scale_is_put_right_at_the_photograph(owner: Browser, shop: Shop) -> None:
    number = send(owner, picture(), scale="600dpi").json()["arrival"]
    looked_at(shop, number, leaves=0, why="no leaf is as small as that; look at the scale")
    nothing_under_way(shop)
    page = owner.get("/wood/take-in").text
    assert f'name="scale-{number}" type="text" value="600dpi"' in page
    wrong = owner.press(f"/wood/take-in/{number}/look", **{f"scale-{number}": "5 foot"})
    assert wrong.status_code == 422
    assert "is not a scale" in wrong.text
    assert said_of(shop, number) == ("600dpi", None)
    thin = {f"scale-{number}": "tags", f"thickness-{number}": "thin"}
    assert "is not a length" in owner.press(f"/wood/take-in/{number}/look", **thin).text
    right = {f"scale-{number}": "4px/mm", f"thickness-{number}": "4.53"}
    assert owner.press(f"/wood/take-in/{number}/look", **right).status_code == 303
    assert said_of(shop, number) == ("4px/mm", 4.53)
    assert looks_asked(shop) == [number]
    page = owner.get("/wood/take-in").text
    assert "no leaf is as small" not in page  # the look at the old scale counts no more
    again = {f"scale-{number}": "4px/mm", f"thickness-{number}": "4.5 mm"}  # as the page shows it
    owner.press(f"/wood/take-in/{number}/look", **again)
    assert said_of(shop, number) == ("4px/mm", 4.53)


@pytest.mark.parametrize("key", ["one", "another"])
def test_the_same_picture_sent_again_takes_the_new_scale(owner: Browser, shop: Shop, key: str) -> None:
    number = send(owner, picture(), scale="tags", thickness="4").json()["arrival"]
    nothing_under_way(shop)
    answer = send(owner, picture(), key=key, scale="300dpi").json()
    assert answer["new"] == (key == "another")
    assert answer["changed"] == (key == "one")
    assert said_of(shop, number) == said_of(shop, answer["arrival"]) == ("300dpi", 4.0)
    assert number in looks_asked(shop)
    nothing_under_way(shop)
    same = send(owner, picture(), key=key)
    assert (same.json()["new"], same.json()["changed"]) == (False, False)
    assert said_of(shop, number) == ("300dpi", 4.0)
    assert looks_asked(shop) == []


def test_equal_files_are_told_and_never_a_pair(owner: Browser, shop: Shop) -> None:
    first = send(owner, picture(), key="1", name="x-a.jpg").json()["arrival"]
    second = send(owner, picture(), key="2", name="x-b.jpg").json()["arrival"]
    figure = some_figure(1)
    for number in (first, second):
        looked_at(shop, number, figure=figure)
    compare(shop)
    groups = sorted_groups(shop)
    assert groups == [((first,), "no partner found"), ((second,), "the same photograph as x-a.jpg")]
    assert "the same photograph as x-a.jpg" in owner.get("/wood/take-in").text


def test_a_photograph_that_is_on_the_rack_already_is_told(owner: Browser, shop: Shop) -> None:
    (first,) = come_in(owner, shop, 1)
    said = {f"pair-{first}": "1", f"role-{first}": "a", "kind": "top", "label-1": "R7"}
    assert owner.press("/wood/take-in/file", **said).status_code == 303
    second = send(owner, picture(1), key="later").json()["arrival"]
    looked_at(shop, second)
    assert sorted_groups(shop) == [((second,), "the same photograph as one of R7, which is on the rack")]


def test_a_look_that_broke_down_shows_no_broken_picture(owner: Browser, shop: Shop) -> None:
    send(owner, picture())
    with shop.change("background") as change:
        job = jobs.take(change)
        assert job is not None
        jobs.fail(change, job.id, "the working process died")
    page = owner.get("/wood/take-in").text
    assert "the working process died" in page
    pictures = re.findall(r'<img src="([^"]+)"', page)
    assert all(owner.get(address).status_code == 200 for address in pictures)
    assert "/made/" not in page


def test_looking_at_the_page_matches_nothing(
    owner: Browser, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, 4)]
    for n, number in enumerate(numbers, 1):
        looked_at(shop, number, figure=some_figure(n))
    nothing_under_way(shop)

    def refused(*given: object) -> None:
        raise AssertionError("matched while a page was asked for")

    for name in ("meet", "worth_meeting", "look_from_bytes", "find_pairs", "register_figures"):
        monkeypatch.setattr(arrivals_met, name, refused)
    page = owner.get("/wood/take-in").text
    assert page.count("matching…") == 3
    assert owner.press("/wood/take-in/match").status_code == 303
    page = owner.get("/wood/take-in").text
    assert "Matching the photographs" in page
    assert "about to begin" in owner.get("/api/work").json()["says"]


def test_pages_show_what_was_kept_of_the_matching(owner: Browser, shop: Shop) -> None:
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, 4)]
    for n, number in enumerate(numbers, 1):
        looked_at(shop, number, figure=some_figure(n))
    with shop.read() as session:
        one, two, three = (look_key(row) for row in arrivals(session))
    met = {
        arrivals_met.couple_of(one, three): Met(0.91, False),
        arrivals_met.couple_of(two, three): Met(0.5, False),
    }
    keep_meetings(shop.made, Meetings(frozenset({one, two, three}), met))
    assert sorted_groups(shop) == [
        ((numbers[0], numbers[2]), "a pair: the mirrored pictures match 0.91"),
        ((numbers[1],), "no partner found"),
    ]
