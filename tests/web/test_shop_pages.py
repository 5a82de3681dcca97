"""The Shop place: settings, air, backup, health, recently deleted."""

from __future__ import annotations

import io
import zipfile
from contextlib import suppress

import pytest
from asking import Browser, Clock
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from seamlight.mistake import Mistake
from seamlight.shop import wood
from seamlight.shop.air import newest_air, parse_humidity, parse_temperature
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Air


def test_the_contents_lead_to_pages_that_are_there(owner: Browser) -> None:
    import re

    links = re.findall(r'<li><a href="([^"]+)"><strong>', owner.get("/shop").text)
    assert {"/shop/air", "/shop/settings", "/shop/devices", "/shop/backup", "/shop/health"} <= set(links)
    assert [owner.get(link).status_code for link in links] == [200] * len(links)


def test_settings_are_kept_and_used(owner: Browser) -> None:
    answer = owner.press("/shop/settings", unit="inch", shop_name="Hill Bench", maker="Ines")
    assert answer.status_code == 303
    page = owner.get("/shop/settings").text
    assert "Kept." in page
    assert 'value="inch" selected' in page
    assert "Hill Bench" in page
    assert "Kept." not in owner.get("/shop/settings").text  # told once
    owner.press("/shop/air", rh="45")
    assert "Ines" in owner.get("/shop/air").text


def test_a_setting_changed_meanwhile_is_not_overwritten(owner: Browser) -> None:
    versions = {"unit_version": "0", "shop_name_version": "0", "maker_version": "0"}
    assert owner.press("/shop/settings", shop_name="First", **versions).status_code == 303
    late = owner.press("/shop/settings", shop_name="Second", **versions)
    assert late.status_code == 409
    assert "meanwhile" in late.text
    assert "First" in owner.get("/shop").text
    # Another field of the same old page may still be changed.
    assert owner.press("/shop/settings", shop_name="First", maker="Ines", **versions).status_code == 303


@pytest.mark.parametrize(
    ("field", "value"),
    [("unit", "cubit"), ("shop_name", "x" * 61), ("maker", "x" * 61), ("zone", "Middle/Earth")],
)
def test_a_setting_that_cannot_be_is_said_beside_its_field(owner: Browser, field: str, value: str) -> None:
    again = owner.press("/shop/settings", **{field: value})
    assert again.status_code == 422
    assert 'aria-invalid="true"' in again.text
    if field != "unit":
        assert value in again.text  # what was typed is still there


def test_the_air_is_noted_and_shown(owner: Browser, shop: Shop, clock: Clock) -> None:
    owner.press("/shop/air", temp="70 F", rh="45 %", note="heating on")
    clock.wait(hours=3)
    owner.press("/shop/air", rh="41,5")
    with shop.read() as session:
        newest = newest_air(session)
        assert newest is not None
        assert (newest.temp_c, newest.rh_pct) == (None, 41.5)
        first = session.scalars(select(Air).order_by(Air.id)).first()
    assert first is not None
    assert first.temp_c == pytest.approx((70 - 32) / 1.8)
    page = owner.get("/shop/air").text
    assert page.index("41.5") < page.index("heating on")


@pytest.mark.parametrize("typed", [{}, {"rh": "145"}, {"rh": "wet"}, {"temp": "70"}, {"temp": "warm"}])
def test_air_that_cannot_be_is_refused_with_what_was_typed(owner: Browser, typed: dict[str, str]) -> None:
    again = owner.press("/shop/air", note="kept note", **typed)
    assert again.status_code == 422
    assert 'aria-invalid="true"' in again.text
    assert "kept note" in again.text
    assert "Nothing was noted yet" in owner.get("/shop/air").text


@given(st.floats(-22, 140))
@settings(max_examples=50)
def test_fahrenheit_and_celsius_say_the_same(degrees_f: float) -> None:
    in_c = parse_temperature(f"{degrees_f:.4f} F")
    assert in_c is not None
    assert in_c * 1.8 + 32 == pytest.approx(degrees_f, abs=1e-3)


@given(st.text(max_size=12))
@settings(max_examples=100)
def test_whatever_is_typed_is_a_figure_or_a_mistake(typed: str) -> None:
    for parse in (parse_humidity, parse_temperature):
        with suppress(Mistake):
            value = parse(typed)
            assert value is None or -40 <= value <= 100


def test_a_backup_is_handed_out_whole(owner: Browser, shop: Shop) -> None:
    owner.press("/shop/air", rh="45")
    assert "No backup" in owner.get("/shop/backup").text
    answer = owner.press("/shop/backup")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"].startswith("attachment")
    held = zipfile.ZipFile(io.BytesIO(answer.content))
    assert held.testzip() is None
    assert "shop.db" in held.namelist()
    assert not any("secret" in name for name in held.namelist())
    assert "No backup" not in owner.get("/shop/backup").text
    assert not list(shop.made.folder.glob("backup-*"))


def test_health_finds_a_photograph_that_was_changed(owner: Browser, shop: Shop) -> None:
    from seamlight.shop.file_rows import add_row

    sha = shop.files.keep(b"a picture", "image/jpeg")
    with shop.change("owner") as change:
        add_row(change, sha, "image/jpeg", 9)
    assert "there and whole" in owner.press("/shop/health").text
    shop.files.path(sha).write_bytes(b"another one")
    assert "missing or damaged" in owner.press("/shop/health").text


def test_a_deleted_pair_is_brought_back(owner: Browser, shop: Shop) -> None:
    assert "Nothing was deleted" in owner.get("/shop/deleted").text
    with shop.change("owner") as change:
        pair = wood.new_pair(change, kind="top")
        wood.delete_pair(change, pair.id)
    assert pair.label in owner.get("/shop/deleted").text
    answer = owner.press(f"/shop/deleted/pair/{pair.id}")
    assert answer.headers["location"] == f"/wood/pairs/{pair.id}"
    with shop.read() as session:
        assert wood.pair(session, pair.id).deleted_at is None
    assert owner.press("/shop/deleted/knot/1").status_code == 404


def test_the_list_for_other_programs_names_our_own_operations_only(owner: Browser) -> None:
    schema = owner.get("/api/openapi.json").json()
    assert "/api/csrf" in schema["paths"]
    assert all(path.startswith("/api/") for path in schema["paths"])
    for methods in schema["paths"].values():
        for operation in methods.values():
            assert "4XX" in operation["responses"]
    page = owner.get("/api/docs")
    assert "/api/csrf" in page.text
    assert "http://" not in page.text.replace("http://www.w3.org", "")
    assert "https://" not in page.text


def test_times_are_shown_by_the_shops_clock(owner: Browser, clock: Clock) -> None:
    """09:30 UTC on 12 March is 20:30 in Sydney, and midnight there is not midnight here."""
    answer = owner.press("/shop/settings", zone="sydney")
    assert answer.status_code == 303
    assert 'value="Australia/Sydney"' in owner.get("/shop/settings").text
    owner.press("/shop/air", rh="45", temp="20")
    assert "12 Mar 2026, 20:30" in owner.get("/shop/air").text
    assert "today 20:30" in owner.get("/").text
    assert "Thursday, 12 March" in owner.get("/").text
    clock.wait(hours=4)  # 00:30 on the 13th there
    assert "Friday, 13 March" in owner.get("/").text
    assert "yesterday 20:30" in owner.get("/").text
    owner.press("/shop/settings", zone="America/New York", zone_version="1")
    assert "12 Mar 2026, 05:30" in owner.get("/shop/air").text


def test_a_day_of_the_rack_begins_by_the_shops_clock(owner: Browser, shop: Shop, clock: Clock) -> None:
    """Taken in at 22:30 UTC on 12 March: in Vienna that is still the 12th, in Sydney the 13th."""
    clock.wait(hours=13)
    with shop.change("owner") as change:
        wood.new_pair(change, kind="top", label="T7")
    for version, (zone, day) in enumerate(
        (("Europe/Vienna", "2026-03-12"), ("Australia/Sydney", "2026-03-13"))
    ):
        assert owner.press("/shop/settings", zone=zone, zone_version=str(version)).status_code == 303
        for other in ("2026-03-12", "2026-03-13"):
            found = "T7" in owner.get(f"/wood?since={other}&until={other}").text
            assert found == (other == day), (zone, other)


def test_a_zone_that_is_none_is_refused_in_one_line(owner: Browser) -> None:
    again = owner.press("/shop/settings", zone="Middle Earth", shop_name="Hill Bench")
    assert again.status_code == 422
    assert "no time zone is called &#39;Middle Earth&#39;; write it like Europe/Vienna or UTC" in again.text
    assert "Hill Bench" in again.text
    assert owner.get("/").status_code == 200


def test_a_zone_this_computer_does_not_know_breaks_no_page(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "zone", "Mars/Olympus")
    for path in ("/", "/shop/air", "/shop/settings", "/wood?since=2026-03-12"):
        assert owner.get(path).status_code == 200


def test_a_temperature_is_written_one_way(owner: Browser) -> None:
    owner.press("/shop/air", temp="20.5", rh="45")
    page = owner.get("/").text.replace("\N{NO-BREAK SPACE}", " ")
    assert page.count("20.5 °C") == 2  # the figure, and the sentence about the glue
    owner.press("/shop/air", temp="20", rh="45")
    page = owner.get("/").text.replace("\N{NO-BREAK SPACE}", " ")
    assert page.count("20 °C") == 2
    assert "20.0" not in page
