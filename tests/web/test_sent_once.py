"""A form whose answer was lost is sent again: it counts once, and a new one counts anew."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from asking import Browser, Clock
from filed_pair import file_pair

from seamlight.shop import wood
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.sent import REMEMBERED_FOR
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Sent
from seamlight.shop.tally import planed, weights
from seamlight.web.sent_once import KEPT_BEFORE, OTHER_KEPT

PLANED = {"planed_leaf": "a", "planed_mm": "0.5"}


def number_of(page: str, action: str) -> str:
    """The number of the form that posts to an address."""
    form = re.search(rf'<form[^>]*action="{action}"[^>]*>(.*?)</form>', page, re.S)
    assert form, action
    found = re.search(r'name="sent" value="([^"]+)"', form[1])
    assert found
    return found[1]


def said(browser: Browser, address: str) -> str:
    """What the page tells once."""
    told = re.search(r'class="said"[^>]*>(.*?)</p>', browser.get(address).text)
    return told[1] if told else ""


def test_planing_sent_twice_counts_once_and_answers_the_same(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    here = f"/wood/pairs/{pair.id}"
    number = number_of(owner.get(here).text, f"{here}/planed")
    answers = [owner.press(f"{here}/planed", **PLANED, sent=number) for _ in range(3)]
    assert {(one.status_code, one.headers["location"]) for one in answers} == {(303, f"{here}#planed")}
    assert said(owner, here) == KEPT_BEFORE
    with shop.read() as session:
        assert [row.mm for row in planed(session, pair.id)] == [0.5]


def test_every_showing_has_a_number_of_its_own(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    here = f"/wood/pairs/{pair.id}"
    for _ in range(2):
        number = number_of(owner.get(here).text, f"{here}/weigh")
        assert owner.press(f"{here}/weigh", weighed_leaf="a", grams="158", sent=number).status_code == 303
    with shop.read() as session:
        assert [row.grams for row in weights(session, pair.id)] == [158.0, 158.0]


def test_the_same_form_saying_something_else_counts_and_says_that_both_do(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    here = f"/wood/pairs/{pair.id}"
    number = number_of(owner.get(here).text, f"{here}/planed")
    for much in ("0.5", "0.3"):
        owner.press(f"{here}/planed", planed_leaf="a", planed_mm=much, sent=number)
    assert OTHER_KEPT in said(owner, here)
    with shop.read() as session:
        assert [row.mm for row in planed(session, pair.id)] == [0.5, 0.3]


def test_a_new_piece_is_one_piece_and_its_page_comes_again(owner: Browser, shop: Shop) -> None:
    number = number_of(owner.get("/wood/new").text, "/wood/new")
    sent = {"kind": "neck", "supplier": "twice", "sent": number}
    first, second = (owner.press("/wood/new", **sent) for _ in range(2))
    assert first.headers["location"] == second.headers["location"] != "/wood/new"
    with shop.read() as session:
        assert rack(session, RackQuery()).total == 1


def test_by_our_script_too(owner: Browser, shop: Shop) -> None:
    number = number_of(owner.get("/shop/air").text, "/shop/air")
    form = {"temp": "21", "rh": "45", "sent": number}
    token = {"x-csrf": owner.token(), "x-form": "kept"}
    answers = [owner.post("/shop/air", data=form, headers=token) for _ in range(2)]
    assert [one.status_code for one in answers] == [200, 200], answers[0].text
    assert answers[0].json() == answers[1].json()
    with shop.read() as session:
        from seamlight.shop.air import air_log

        assert len(air_log(session)) == 1


def test_what_was_refused_may_be_sent_again(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    here = f"/wood/pairs/{pair.id}"
    sent = {"weighed_leaf": "a", "sent": number_of(owner.get(here).text, f"{here}/weigh")}
    assert owner.press(f"{here}/weigh", grams="heavy", **sent).status_code == 422
    assert owner.press(f"{here}/weigh", grams="158", **sent).status_code == 303
    assert OTHER_KEPT not in said(owner, here)


def test_an_answer_lost_before_its_address_was_kept(
    owner: Browser, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    pair = file_pair(shop)
    here = f"/wood/pairs/{pair.id}"
    number = number_of(owner.get(here).text, f"{here}/planed")
    forget: Callable[..., None] = lambda *_: None  # noqa: E731
    monkeypatch.setattr("seamlight.web.sent_once.remember_answer", forget)
    owner.press(f"{here}/planed", **PLANED, sent=number)
    token = {"csrf": owner.token(), "sent": number}
    referer = {"referer": f"http://127.0.0.1:8765{here}"}
    again = owner.post(f"{here}/planed", data={**PLANED, **token}, headers=referer)
    assert (again.status_code, again.headers["location"]) == (303, here)


def test_a_form_is_forgotten_after_some_days(owner: Browser, shop: Shop, clock: Clock) -> None:
    with shop.change("owner") as change:
        wood.new_pair(change, kind="top")
    number = number_of(owner.get("/wood/new").text, "/wood/new")
    owner.press("/wood/new", kind="neck", sent=number)
    clock.wait(days=REMEMBERED_FOR.days + 1)
    owner.press("/wood/new", kind="neck", sent=number_of(owner.get("/wood/new").text, "/wood/new"))
    with shop.read() as session:
        assert session.query(Sent).count() == 1
