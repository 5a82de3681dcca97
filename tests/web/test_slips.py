"""Figures that are hardly meant are asked about, once; figures that nobody touched stay to the last bit."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

import pytest
from asking import Browser
from filed_pair import file_pair

from seamlight.shop import builds, wood
from seamlight.shop.classes import add_students, give_build, new_class
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.readings import readings
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.shop.tally import planed, weights


def sure_of(page: str) -> str:
    """What the page sends along so that the figure is taken the next time."""
    found = re.search(r'name="sure" value="([^"]+)"', page)
    assert found
    return html.unescape(found[1])


@pytest.mark.parametrize(
    ("kind", "unit", "typed", "meant"),
    [
        ("top", "mm", "28", "2.8 mm"),
        ("top", "mm", "450 mm", "4.5 mm"),
        ("top", "mm", "0.45", "4.5 mm (centimetres"),
        ("back", "inch", "4.5", "4.5 mm (millimetres taken for inches)"),
        ("neck", "mm", "450", "45 mm"),
    ],
)
def test_a_thickness_that_is_hardly_meant_is_asked_about(
    owner: Browser, shop: Shop, kind: str, unit: str, typed: str, meant: str
) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "unit", unit)
    asked = owner.press("/wood/new", kind=kind, thickness=typed)
    assert asked.status_code == 422
    assert meant in html.unescape(asked.text)
    pair = file_pair(shop, kind="back" if kind == "back" else "top")
    edit = {"label": pair.label, "kind": kind, "thickness": typed, "version": str(pair.version)}
    assert owner.press(f"/wood/pairs/{pair.id}/edit", **edit).status_code == 422
    again = owner.press("/wood/new", kind=kind, thickness=typed, sure=sure_of(asked.text))
    assert again.status_code == 303


def test_a_usual_thickness_is_not_asked_about(owner: Browser, shop: Shop) -> None:
    for kind, thick in (("top", "4.5"), ("neck", "28"), ("fingerboard", "7"), ("brace stock", "1/2 in")):
        assert owner.press("/wood/new", kind=kind, thickness=thick).status_code == 303


def test_being_sure_of_one_figure_is_not_being_sure_of_another(owner: Browser) -> None:
    sure = sure_of(owner.press("/wood/new", kind="top", thickness="28").text)
    assert owner.press("/wood/new", kind="top", thickness="29", sure=sure).status_code == 422


@pytest.mark.parametrize(
    ("path", "fields", "meant"),
    [
        ("planed", {"planed_leaf": "a", "planed_mm": "500"}, "0.5 mm"),
        ("weigh", {"weighed_leaf": "a", "grams": "1,580"}, "1580 g"),
        ("weigh", {"weighed_leaf": "a", "grams": "158000"}, "158 g"),
        ("weigh", {"weighed_leaf": "both", "grams": "14"}, "396.9 g (ounces)"),
    ],
)
def test_what_is_noted_of_a_pair(
    owner: Browser, shop: Shop, path: str, fields: dict[str, str], meant: str
) -> None:
    here = f"/wood/pairs/{file_pair(shop).id}"
    asked = owner.press(f"{here}/{path}", **fields)
    assert asked.status_code == 422
    assert meant in html.unescape(asked.text)
    assert owner.press(f"{here}/{path}", **fields, sure=sure_of(asked.text)).status_code == 303
    with shop.read() as session:
        assert len(planed(session, 1)) + len(weights(session, 1)) == 1


def test_a_share_is_no_humidity(owner: Browser) -> None:
    asked = owner.press("/shop/air", rh="0.45", temp="21")
    assert asked.status_code == 422
    assert "write 45 if it was a share" in asked.text


def test_a_students_top_of_28_mm(owner: Browser, shop: Shop, paired: Callable[..., Browser]) -> None:
    with shop.change("owner") as change:
        new_class(change, "Spring")
        (student,) = add_students(change, 1, "Ada")
        builds.new_build(change, label="first")
        give_build(change, student.id, 1)
    ada = paired("tablet", student.id)
    form = {"what": "top thickness", "value": "28", "place": "bridge"}
    token = re.search(r'name="csrf" content="([0-9a-f]+)"', ada.get("/students/1").text)
    assert token
    sent = {**form, "csrf": token[1]}
    asked = ada.post("/students/1/builds/1/readings", data=sent)
    assert asked.status_code == 422
    assert "2.8 mm" in asked.text
    sure = {**sent, "sure": sure_of(asked.text)}
    assert ada.post("/students/1/builds/1/readings", data=sure).status_code == 303
    with shop.read() as session:
        assert [row.document["value"] for row in readings(session, build_id=1)] == [28.0]


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_facts_sent_back_as_shown_stay_to_the_last_bit(owner: Browser, shop: Shop, unit: str) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "unit", unit)
        thick = wood.new_pair(change, kind="top", thickness_mm=4.5123, notes="old").id
        unlikely = wood.new_pair(change, kind="top", thickness_mm=28.0).id
    for number, kept_mm in ((thick, 4.5123), (unlikely, 28.0)):
        page = owner.get(f"/wood/pairs/{number}").text
        form = re.search(r'<form[^>]*action="[^"]*/edit".*?</form>', page, re.S)
        assert form
        shown = re.findall(r'<input[^>]* name="(\w+)"[^>]* value="([^"]*)"', form[0])
        sent = {name: html.unescape(value) for name, value in shown} | {"kind": "top", "notes": "new"}
        assert owner.press(f"/wood/pairs/{number}/edit", **sent).status_code == 303
        with shop.read() as session:
            row = wood.pair(session, number)
            assert (row.thickness_mm, row.notes) == (kept_mm, "new")


def test_a_thickness_is_emptied_by_emptying_its_field(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        pair = wood.new_pair(change, kind="top", thickness_mm=4.5)
    sent = {"label": pair.label, "kind": "top", "thickness": "", "version": "1"}
    assert owner.press(f"/wood/pairs/{pair.id}/edit", **sent).status_code == 303
    with shop.read() as session:
        assert wood.pair(session, pair.id).thickness_mm is None


def test_notes_keep_their_lines(owner: Browser, shop: Shop) -> None:
    notes = "light in the waist\r\n\r\nknot at end 2"
    owner.press("/wood/new", kind="top", notes=f"{notes}\r\n")
    with shop.read() as session:
        (row,) = rack(session, RackQuery()).rows
    assert row.pair.notes == "light in the waist\n\nknot at end 2"
