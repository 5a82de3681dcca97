"""Every error a person can cause is a readable page, and JSON under /api."""

from __future__ import annotations

from asking import Browser
from fastapi import FastAPI
from pydantic import BaseModel

from seamlight.mistake import Mistake
from seamlight.shop import wood
from seamlight.shop.shop import Shop


class Wanted(BaseModel):
    """A body of JSON."""

    label: str


def add_trouble(app: FastAPI, shop: Shop) -> None:
    """Routes that go wrong in every way a person can cause."""

    @app.get("/mistake")
    @app.get("/api/mistake")
    def mistake() -> None:
        raise Mistake("is no length", where="trim", do="write it like 3mm")

    @app.post("/pairs/{pair_id}/label")
    @app.post("/api/pairs/{pair_id}/label")
    async def label(pair_id: int, label: str = "") -> None:
        with shop.change("other phone") as change:
            wood.edit_pair(change, pair_id, {"notes": label}, expected_version=1)

    @app.post("/api/wanted")
    def wanted(body: Wanted) -> Wanted:
        return body


def test_nothing_here(owner: Browser) -> None:
    for path in (
        "/nothing",
        "/files/nothing",
        "/files/" + "a" * 64,
        "/classes/99",
        "/students/99",
        "/classes/x",
    ):
        page = owner.get(path)
        assert page.status_code == 404, path
        assert "Nothing is here" in page.text, path
        assert "Traceback" not in page.text
    told = owner.get("/api/nothing")
    assert told.status_code == 404
    assert set(told.json()) == {"status", "what", "where", "do"}


def test_a_wrong_method(owner: Browser) -> None:
    assert "cannot do that" in owner.press("/shop").text


def test_a_mistake_is_one_line(app: FastAPI, shop: Shop, owner: Browser) -> None:
    add_trouble(app, shop)
    page = owner.get("/mistake")
    assert page.status_code == 422
    assert "trim: is no length" in page.text
    assert "Write it like 3mm" in page.text
    assert owner.get("/api/mistake").json() == {
        "status": 422,
        "what": "is no length",
        "where": "trim",
        "do": "write it like 3mm",
    }


def test_a_change_meanwhile_shows_both(app: FastAPI, shop: Shop, owner: Browser) -> None:
    add_trouble(app, shop)
    with shop.change("owner") as change:
        pair = wood.new_pair(change, kind="top")
    with shop.change("Ines at the desk") as change:
        wood.edit_pair(change, pair.id, {"lies_at": "third shelf"}, expected_version=1)
    page = owner.press(f"/pairs/{pair.id}/label", notes="what I typed")
    assert page.status_code == 409
    assert "Ines at the desk" in page.text
    assert "lies at" in page.text
    assert "third shelf" in page.text
    assert "what I typed" in page.text
    told = owner.post(f"/api/pairs/{pair.id}/label", headers={"X-CSRF": owner.token()})
    assert told.status_code == 409
    change = told.json()["changes"][0]
    assert change["by"] == "Ines at the desk"
    assert change["fields"] == [["lies_at", None, "third shelf"]]


def test_json_that_cannot_be_read(app: FastAPI, shop: Shop, owner: Browser) -> None:
    add_trouble(app, shop)
    headers = {"X-CSRF": owner.token()}
    for body in ({}, {"label": 3}, []):
        told = owner.post("/api/wanted", json=body, headers=headers)
        assert told.status_code == 422
        assert told.json()["what"]
    broken = owner.post("/api/wanted", content=b"{", headers=headers | {"Content-Type": "application/json"})
    assert broken.status_code == 422
    assert owner.post("/api/wanted", json={"label": "T1"}, headers=headers).json() == {"label": "T1"}


def test_what_was_typed_is_never_markup(owner: Browser) -> None:
    owner.press("/shop/air", rh="45", note="<script>alert(1)</script>")
    page = owner.get("/shop/air").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
