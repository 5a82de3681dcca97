"""The house of pages in a real browser: empty places, keyboard, paper, a lost connection, another device."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest
from benches import DESK, PHONE, Bench, network_address
from looking import assert_good_page
from playwright.sync_api import Page, expect

from seamlight.shop import builds, wood
from seamlight.shop.air import note_air
from seamlight.shop.classes import add_students, give_build, new_class
from seamlight.shop.readings import keep_reading
from seamlight.shop.typed import VERB, typed_reading

Window = Callable[..., Page]
PLACES = ("/", "/wood", "/builds", "/classes", "/shop")
PAGES = (
    *PLACES,
    "/shop/air",
    "/shop/settings",
    "/shop/devices",
    "/shop/backup",
    "/shop/health",
    "/shop/deleted",
    "/shop/glue",
    "/shop/grades",
    "/shop/outlines",
    "/shop/labels",
    "/api/docs",
    "/nothing",
)


def settle_in(bench: Bench) -> None:
    """A shop with something on every page of the house."""
    with bench.shop.change("owner") as change:
        note_air(change, 21.5, 45.0, "heating on")
        new_class(change, "Spring", date(2026, 4, 1))
        add_students(change, 1, "Ada\nBen")
        for label in ("first", "second"):
            builds.new_build(change, label=label)
        give_build(change, 1, 1)
        for student_id, value in ((1, "2.9"), (None, "2.8")):
            typed = typed_reading("top thickness", value, "under the bridge", "mm")
            keep_reading(change, VERB, typed, build_id=1, student_id=student_id)
        pair = wood.new_pair(change, kind="top")
        wood.delete_pair(change, pair.id)


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (DESK, True)], ids=["phone", "desk, dark"])
def test_every_page_is_accessible_fits_and_can_be_pressed(
    bench: Bench, window: Window, size: dict[str, int], dark: bool
) -> None:
    page = window(size, dark=dark)
    for path in PAGES:
        page.goto(bench.address + path)
        expect(page.locator("h1")).to_have_count(1)
        assert_good_page(page)
    settle_in(bench)
    for path in ("/", "/shop/air", "/shop/deleted", "/classes", "/classes/1", "/students/1", "/students/2"):
        page.goto(bench.address + path)
        assert_good_page(page)


def test_the_five_places_are_always_in_reach(phone: Page, desk: Page, bench: Bench) -> None:
    for page in (phone, desk):
        names = page.locator("nav li").all_inner_texts()
        assert [name.strip() for name in names] == ["Today", "Wood", "Builds", "Classes", "Shop"]
        for name, path in zip(names, PLACES, strict=True):
            page.get_by_role("navigation").get_by_role("link", name=name.strip(), exact=True).click()
            expect(page).to_have_url(bench.address + path)
            expect(page.locator("nav a[aria-current]")).to_have_text(re.compile(name.strip()))
            expect(page.locator("nav")).to_be_in_viewport()
    bar, window_px = phone.locator("nav").bounding_box(), phone.viewport_size
    assert bar is not None
    assert window_px is not None
    assert bar["y"] + bar["height"] == pytest.approx(window_px["height"])
    side = desk.locator("nav").bounding_box()
    assert side is not None
    assert side["x"] == 0
    assert side["height"] == desk.viewport_size["height"]  # type: ignore[index]


def test_an_empty_shop_says_what_to_do_first(phone: Page, bench: Bench) -> None:
    for path in ("/", "/wood", "/builds"):
        phone.goto(bench.address + path)
        assert phone.locator("main a.action, main button").count() >= 1, path


def test_the_keyboard_goes_everywhere_and_shows_where_it_is(desk: Page, bench: Bench) -> None:
    desk.goto(bench.address + "/shop/settings")
    desk.keyboard.press("Tab")
    expect(desk.locator(":focus")).to_have_text("To the page")
    expect(desk.locator(":focus")).to_be_in_viewport()
    desk.keyboard.press("Enter")
    seen = []
    for _ in range(5):
        desk.keyboard.press("Tab")
        at = desk.locator(":focus")
        seen.append(at.get_attribute("name") or at.inner_text())
        ring = at.evaluate("(one) => getComputedStyle(one).outlineStyle + getComputedStyle(one).outlineWidth")
        assert ring == "solid3px", seen
    assert seen == ["unit", "shop_name", "maker", "zone", "Keep"]


def test_on_paper_the_controls_are_gone_and_date_and_unit_stay(desk: Page, bench: Bench) -> None:
    settle_in(bench)
    desk.goto(bench.address + "/students/1")
    desk.emulate_media(media="print")
    for gone in ("nav", "form", "button", ".action", ".skip"):
        for one in desk.locator(gone).all():
            expect(one).to_be_hidden()
    expect(desk.get_by_text("2.90 mm")).to_be_visible()
    foot = desk.locator(".print-foot")
    expect(foot).to_be_visible()
    expect(foot).to_contain_text("millimetres")
    expect(foot).to_contain_text(str(date.today().year))


def test_what_was_typed_survives_a_lost_connection_and_a_closed_page(phone: Page, bench: Bench) -> None:
    phone.goto(bench.address + "/shop/air")
    phone.get_by_label("Humidity").fill("44")
    phone.get_by_label("Note").fill("door open all morning")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Note the air").click()
    expect(phone.get_by_role("alert")).to_contain_text("No connection")
    expect(phone.get_by_label("Note")).to_have_value("door open all morning")
    phone.context.set_offline(False)
    phone.close()
    again = phone.context.new_page()
    again.goto(bench.address + "/shop/air")
    expect(again.get_by_label("Humidity")).to_have_value("44")
    expect(again.get_by_label("Note")).to_have_value("door open all morning")
    expect(again.get_by_role("alert")).to_contain_text("has not been sent yet")
    assert_good_page(again)
    again.get_by_role("button", name="Note the air").click()
    expect(again.get_by_role("status")).to_have_text("The air is noted.")
    expect(again.get_by_label("Note")).to_have_value("")
    expect(again.locator("tbody tr")).to_have_count(1)


def test_what_was_typed_can_be_dropped_again(phone: Page, bench: Bench) -> None:
    phone.goto(bench.address + "/shop/settings")
    phone.get_by_label("Your name").fill("Ines")
    phone.reload()
    expect(phone.get_by_label("Your name")).to_have_value("Ines")
    phone.get_by_role("button", name="Drop it").click()
    expect(phone.get_by_label("Your name")).to_have_value("")
    phone.reload()
    expect(phone.get_by_label("Your name")).to_have_value("")
    expect(phone.get_by_role("alert")).to_have_count(0)


def test_a_form_that_is_wrong_is_said_beside_its_field_and_keeps_the_rest(phone: Page, bench: Bench) -> None:
    phone.goto(bench.address + "/shop/air")
    phone.get_by_label("Humidity").fill("450")
    phone.get_by_label("Note").fill("kept")
    phone.get_by_role("button", name="Note the air").click()
    expect(phone.get_by_label("Humidity")).to_have_attribute("aria-invalid", "true")
    expect(phone.get_by_text("'450' is no relative humidity")).to_be_visible()
    expect(phone.get_by_label("Note")).to_have_value("kept")
    assert_good_page(phone)
    phone.get_by_label("Humidity").fill("45")
    phone.get_by_role("button", name="Note the air").click()
    expect(phone.get_by_role("status")).to_have_text("The air is noted.")


def test_everything_works_without_script(window: Window, bench: Bench) -> None:
    page = window(PHONE, java_script_enabled=False)
    page.goto(bench.address + "/shop/air")
    page.get_by_label("Humidity").fill("44")
    page.get_by_role("button", name="Note the air").click()
    expect(page.get_by_role("status")).to_have_text("The air is noted.")
    page.goto(bench.address + "/classes")
    page.get_by_label("Name of the class").fill("Spring")
    page.get_by_role("button", name="Make the class").click()
    expect(page.get_by_role("heading", name="Spring")).to_be_visible()


def test_nothing_comes_from_another_host(window: Window, bench: Bench) -> None:
    page = window(DESK)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for path in PAGES:
        page.goto(bench.address + path)
    assert asked
    assert [url for url in asked if not url.startswith((bench.address, "data:", "blob:"))] == []


def test_a_phone_is_let_in_by_its_link_and_taken_off_the_list(
    open_bench: Callable[..., Bench], window: Window
) -> None:
    shared = open_bench(share=True)
    there = network_address(shared)
    desk, phone = window(DESK), window(PHONE)
    refused = phone.goto(there)
    assert refused is not None
    assert refused.status == 401
    expect(phone.get_by_role("heading", name="This device is not paired")).to_be_visible()
    assert_good_page(phone)
    desk.goto(shared.address + "/shop/devices")
    desk.get_by_role("button", name="Let a device in").click()
    assert_good_page(desk)
    expect(desk.get_by_role("img", name="QR code")).to_be_visible()
    link = desk.locator("code").inner_text()
    assert link.startswith(there)
    phone.goto(link)
    assert_good_page(phone)
    phone.get_by_label("What shall this device be called?").fill("bench phone")
    phone.get_by_role("button", name="Let it in").click()
    expect(phone.locator("nav")).to_be_visible()
    phone.goto(there + "/wood")
    expect(phone.get_by_role("heading", name="Wood")).to_be_visible()
    desk.goto(shared.address + "/shop/devices")
    desk.get_by_text("Take off the list", exact=True).click()
    desk.get_by_role("button", name="Yes: Take off the list").click()
    expect(desk.get_by_role("status")).to_contain_text("bench phone is let in no longer")
    gone = phone.goto(there + "/wood")
    assert gone is not None
    assert gone.status == 401


def test_a_class_link_opens_one_page_and_is_refused_elsewhere(
    open_bench: Callable[..., Bench], window: Window
) -> None:
    shared = open_bench(share=True)
    settle_in(shared)
    there = network_address(shared)
    desk, phone = window(DESK), window(PHONE)
    desk.goto(shared.address + "/students/1")
    desk.get_by_role("button", name="Make a class link").click()
    phone.goto(desk.locator("code").inner_text())
    expect(phone.get_by_text("Ada's instrument on this device, and nothing else")).to_be_visible()
    phone.get_by_role("button", name="Let it in").click()
    expect(phone).to_have_url(there + "/students/1")
    expect(phone.locator("nav")).to_have_count(0)
    assert_good_page(phone)
    phone.get_by_label("Measured").select_option("lines per inch")
    phone.get_by_label("Figure").fill("21")
    phone.get_by_role("button", name="Write it down").click()
    expect(phone.get_by_role("row", name=re.compile("Lines per inch 21"))).to_be_visible()
    for path in ("/wood", "/builds/1", "/students/2", "/shop/devices"):
        answer = phone.goto(there + path)
        assert answer is not None
        assert answer.status == 403
        expect(
            phone.get_by_text("A class link opens one student's instrument and nothing else.")
        ).to_be_visible()
    assert_good_page(phone)
    phone.get_by_role("link", name="To my page").click()
    expect(phone).to_have_url(there + "/students/1")
