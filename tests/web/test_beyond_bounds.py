"""What no page of ours sends, on both databases: letters that are none, numbers and days beyond bounds."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from asking import Browser, Clock
from fastapi import FastAPI
from fastapi.routing import APIRoute
from filed_pair import file_pair

from seamlight.shop.arrivals import arrivals
from seamlight.shop.builds import new_build
from seamlight.shop.classes import add_students, new_class
from seamlight.shop.opening import open_shop
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.shop import Shop
from seamlight.web.app import make_app

HUGE = ("3000000000", "9" * 25, "9" * 5000)
WORDS = {
    "part": "top",
    "word": "lock",
    "leaf": "a",
    "key": "small-x.jpg",
    "token": "AAAA-BBBB",
    "piece": "top",
}


@pytest.fixture(scope="module", params=["sqlite", "postgres"])
def house(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    """The pages of a shop with one of each, on either database."""
    url = None
    if request.param == "postgres":
        server, tables = request.getfixturevalue("server"), request.getfixturevalue("with_tables")
        url = server.url(server.new(tables))
    folder: Path = tmp_path_factory.mktemp("house") / "shop"
    shop = open_shop(folder, create=True, clock=Clock(), url=url)
    file_pair(shop)
    with shop.change("owner") as change:
        new_build(change, label="one")
        add_students(change, new_class(change, "first").id, "Ada")
    yield make_app(shop)
    shop.close()
    shutil.rmtree(folder)


@pytest.fixture(scope="module")
def asks(house: FastAPI) -> Browser:
    """Its owner, who sees a fault as an answer."""
    return Browser(house, raise_server_exceptions=False)


@pytest.mark.parametrize(
    "address",
    [
        "/wood?q=%00",
        "/wood?kind=a%00",
        "/api/pairs?q=%00",
        "/api/pairs?kind=%00",
        "/api/pairs?fits=%00",
        "/api/pairs/1/readings?verb=%00",
        "/wood/pairs/1%00",
        "/static/a%00.css",
        "/pair-with/%00",
    ],
)
def test_a_nul_in_an_address_is_refused_at_the_door(asks: Browser, address: str) -> None:
    answer = asks.get(address)
    assert answer.status_code == 400
    assert "no text has" in answer.text


def test_a_nul_in_a_form_is_refused_and_nothing_is_kept(house: FastAPI, asks: Browser) -> None:
    shop: Shop = house.state.shop
    for path, field in (("/wood/new", "notes"), ("/classes", "name"), ("/shop/air", "note")):
        answer = asks.press(path, **{"kind": "top", "rh": "45", field: "a\x00b"})
        assert answer.status_code == 400, path
    picture = {"photo": ("a.jpg", b"\xff\xd8\x00", "image/jpeg")}
    header = {"x-csrf": asks.token()}
    assert asks.post("/api/arrivals", data={"key": "a\x00"}, files=picture, headers=header).status_code == 400
    for body in (
        b'{"pairs": [1], "stage": "rough\\u0000"}',
        b'{"pairs": [1], "\\ud800": 1, "stage": "rough"}',
    ):
        sent = {**header, "content-type": "application/json"}
        assert asks.post("/api/stages", content=body, headers=sent).status_code == 400
    with shop.read() as session:
        assert rack(session, RackQuery()).total == 1
        assert arrivals(session) == []


def test_a_file_may_hold_any_byte(asks: Browser) -> None:
    picture = {"photo": ("a.jpg", b"no picture \x00", "image/jpeg")}
    answer = asks.post("/api/arrivals", data={"key": "b"}, files=picture, headers={"x-csrf": asks.token()})
    assert answer.status_code == 422
    assert "not a picture" in answer.text


@pytest.mark.parametrize(
    "asked",
    [
        "until=9999-12-31",
        "since=9999-12-31",
        "since=0001-01-01",
        "until=0001-01-01",
        "lines=inf",
        "lines=nan",
        "lines=1e300",
        f"page={'9' * 80}",
    ],
)
def test_days_and_figures_beyond_all_bounds_leave_the_rack_standing(asks: Browser, asked: str) -> None:
    assert asks.get(f"/wood?{asked}").status_code == 200


def test_no_number_asked_of_the_api_is_a_fault(asks: Browser) -> None:
    header = {"x-csrf": asks.token()}
    for number in HUGE[:2]:
        for name in ("work", "reading", "readings"):
            assert asks.get(f"/api/pairs/{number}/{name}").status_code == 404
        asked = {"pairs": [int(number)], "stage": "rough"}
        assert asks.post("/api/stages", json=asked, headers=header).status_code == 422
        flaws = {"edits": {}, "version": int(number)}
        answer = asks.put("/api/pairs/1/flaws/a?outline=parlour", json=flaws, headers=header)
        assert answer.status_code == 409, answer.text


def _posted(routes: Iterable[object]) -> Iterator[APIRoute]:
    """Every route that takes a form, also of routers within routers."""
    for one in routes:
        if isinstance(one, APIRoute):
            if "POST" in one.methods:
                yield one
        else:
            inner = getattr(one, "original_router", None)
            yield from _posted(inner.routes if inner is not None else ())


def _paths(route: APIRoute, number: str) -> str:
    return re.sub(r"{(\w+)(?::\w+)?}", lambda found: WORDS.get(found[1], number), route.path)


def test_no_number_of_a_form_or_an_address_is_a_fault(house: FastAPI, asks: Browser) -> None:
    header = {"x-csrf": asks.token()}
    faults, seen = [], 0
    for route in _posted(house.routes):
        if route.path.startswith(("/pair-with", "/shop/backup")):
            continue
        names = {field.alias for field in route.dependant.body_params} | {"version", "line", "number"}
        for number in HUGE:
            for path in {_paths(route, "1"), _paths(route, number)}:
                seen += 1
                answer = asks.post(path, data=dict.fromkeys(names, number), headers=header)
                if answer.status_code >= 500:
                    faults.append((path[:80], number[:12]))
    assert faults == [], "\n".join(map(str, faults))
    assert seen > 100
