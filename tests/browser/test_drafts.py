"""What was typed and not sent yet, in a real browser: it overwrites nothing newer, and counts once."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from benches import DESK, PHONE, Bench
from playwright.sync_api import Page, Route, expect

from seamlight.shop import builds, wood
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.tally import weights

Window = Callable[..., Page]
PHONES, DESKS = "phone: spruce braces", "desk: a cutaway"


@pytest.fixture
def subjects(bench: Bench) -> None:
    """An instrument and a pair, both number 1."""
    with bench.shop.change("owner") as change:
        builds.new_build(change, label="first")
        wood.new_pair(change, kind="top", supplier="of old")


def notes_of(bench: Bench, path: str) -> str | None:
    with bench.shop.read() as session:
        thing = builds.build(session, 1) if path.startswith("/builds") else wood.pair(session, 1)
        return thing.notes


def edit_form(page: Page) -> Page:
    """The page with its form in sight."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    return page


@pytest.mark.parametrize("path", ["/builds/1/edit", "/wood/pairs/1"])
def test_a_draft_overwrites_no_newer_edit_and_is_not_lost(
    bench: Bench, window: Window, subjects: None, path: str
) -> None:
    phone, desk = window(PHONE), window(DESK)
    for page, text in ((phone, PHONES), (desk, DESKS)):
        edit_form(page).goto(bench.address + path)
        edit_form(page).get_by_label("Notes").fill(text)
    form = "form[action$='/edit'] button[type=submit]"
    desk.locator(form).click()
    expect(desk.get_by_role("status")).to_have_text("Kept.")
    phone.reload()
    expect(phone.get_by_label("Notes")).to_be_visible()  # also where it lies in a fold
    expect(phone.get_by_label("Notes")).to_have_value(PHONES)
    expect(phone.get_by_role("alert")).to_contain_text("changed elsewhere")
    expect(phone.get_by_text(f"It now says elsewhere: {DESKS}")).to_be_visible()
    phone.locator(form).click()
    expect(phone.get_by_role("heading", name="Someone changed this meanwhile")).to_be_visible()
    for text in (PHONES, DESKS):
        expect(phone.get_by_role("cell", name=text)).to_be_visible()
    assert notes_of(bench, path) == DESKS
    phone.get_by_role("link", name="Open it as it is now").click()
    expect(phone.get_by_label("Notes")).to_have_value(PHONES)
    expect(phone.get_by_text(f"It now says elsewhere: {DESKS}")).to_be_visible()
    phone.get_by_label("Notes").fill(f"{DESKS}; {PHONES}")
    phone.locator(form).click()
    expect(phone.get_by_role("status")).to_have_text("Kept.")
    assert notes_of(bench, path) == f"{DESKS}; {PHONES}"


def test_dropping_a_draft_goes_back_to_the_page_as_it_is(
    bench: Bench, window: Window, subjects: None
) -> None:
    phone = window(PHONE)
    phone.goto(bench.address + "/builds/1/edit")
    phone.get_by_label("Notes").fill(PHONES)
    with bench.shop.change("owner") as change:
        builds.edit_build(change, 1, {"notes": DESKS})
    phone.reload()
    phone.get_by_role("button", name="Drop it").click()
    expect(phone.get_by_label("Notes")).to_have_value(DESKS)
    expect(phone.get_by_text("It now says elsewhere")).to_have_count(0)
    phone.get_by_label("For whom").fill("Anna")
    phone.get_by_role("button", name="Keep").click()
    expect(phone.get_by_role("status")).to_have_text("Kept.")
    assert notes_of(bench, "/builds/1/edit") == DESKS


def losing(page: Page, addresses: str) -> None:
    """The first form sent there arrives, and its answer is lost on the way."""
    first = [True]

    def lose(route: Route) -> None:
        if route.request.method == "POST" and first:
            first.clear()
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route(addresses, lose)


@pytest.mark.parametrize("closed", [False, True], ids=["pressed again", "page opened again"])
def test_a_lost_answer_counts_once(bench: Bench, window: Window, subjects: None, closed: bool) -> None:
    phone = window(PHONE)
    phone.goto(bench.address + "/wood/pairs/1")
    losing(phone, "**/weigh")
    edit_form(phone).get_by_label("Grams").fill("158")
    button = phone.locator("form[action$='/weigh'] button[type=submit]")
    button.click()
    expect(phone.get_by_role("alert")).to_contain_text("No connection")
    if closed:
        phone.reload()
        expect(phone.get_by_label("Grams")).to_have_value("158")
    button.click()
    expect(phone.get_by_role("status")).to_contain_text("it counts once")
    with bench.shop.read() as session:
        assert [row.grams for row in weights(session, 1)] == [158.0]
    edit_form(phone).get_by_label("Grams").fill("158")  # weighed again
    button.click()
    expect(phone.get_by_role("status")).to_have_text("Noted.")
    with bench.shop.read() as session:
        assert [row.grams for row in weights(session, 1)] == [158.0, 158.0]


def test_a_new_piece_whose_answer_was_lost_is_one_piece(bench: Bench, window: Window, subjects: None) -> None:
    phone = window(PHONE)
    phone.goto(bench.address + "/wood/new")
    losing(phone, "**/wood/new")
    phone.get_by_label("Supplier").fill("twice")
    button = phone.locator("form[action='/wood/new'] button[type=submit]")
    button.click()
    expect(phone.get_by_role("alert")).to_contain_text("No connection")
    button.click()
    expect(phone).to_have_url(f"{bench.address}/wood/pairs/2")
    with bench.shop.read() as session:
        assert rack(session, RackQuery()).total == 2
