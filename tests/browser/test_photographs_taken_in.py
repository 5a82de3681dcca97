"""Two photographs taken in on a phone, through a lost connection, to a read pair on the rack."""

from __future__ import annotations

import re
from collections.abc import Callable

from benches import PHONE, Bench
from looking import assert_good_page
from photographed import pair_files
from playwright.sync_api import Page, expect
from sqlalchemy import select

from seamlight.shop.tables import Arrival, Pair, Reading
from seamlight.web.work import working

LONG_MS = 90_000


def test_a_pair_comes_in_though_the_connection_was_lost(
    open_bench: Callable[..., Bench], window: Callable[..., Page]
) -> None:
    bench = open_bench(beside=(working,))
    page = window(PHONE)
    page.goto(bench.address + "/wood")
    page.get_by_role("link", name="Take wood in").click()
    assert_good_page(page)
    page.get_by_label("Thickness of the leaves").fill("4.5")

    page.context.set_offline(True)
    page.set_input_files("#photos", [str(path) for path in pair_files()])
    expect(page.locator("#coming .trouble").first).to_contain_text("No connection")
    with bench.shop.read() as session:
        assert session.scalars(select(Arrival)).all() == []
    page.context.set_offline(False)
    expect(page.locator("#coming")).to_contain_text(re.compile("taken in.*taken in"), timeout=LONG_MS)
    with bench.shop.read() as session:
        assert len(session.scalars(select(Arrival)).all()) == 2

    expect(page.get_by_role("heading", name="Pair 1")).to_contain_text("match", timeout=LONG_MS)
    assert_good_page(page)
    page.get_by_label("Species").fill("western redcedar")
    page.get_by_role("button", name="File these pairs").click()
    expect(page.get_by_role("status")).to_contain_text("Filed: T1")
    expect(page.locator(".card")).to_contain_text("to spare", timeout=LONG_MS)
    assert_good_page(page)
    with bench.shop.read() as session:
        (pair,) = session.scalars(select(Pair)).all()
        verbs = sorted(row.verb for row in session.scalars(select(Reading)))
    assert pair.species_botanical == "Thuja plicata"
    assert verbs == ["layout", "layout", "layout", "read", "read"]


def test_a_picture_that_is_none_is_said_beside_its_name(bench: Bench, window: Callable[..., Page]) -> None:
    page = window(PHONE)
    page.goto(bench.address + "/wood/take-in")
    page.set_input_files(
        "#photos", {"name": "notes.jpg", "mimeType": "image/jpeg", "buffer": b"not a picture"}
    )
    expect(page.locator("#coming")).to_contain_text("not taken")
    expect(page.locator("#coming .trouble")).to_contain_text("is not a picture")


def test_outlines_and_forms_are_good_pages(bench: Bench, window: Callable[..., Page]) -> None:
    for dark in (False, True):
        page = window(PHONE, dark=dark)
        for path in ("/shop/outlines", "/wood/new", "/wood/read", "/wood/work"):
            page.goto(bench.address + path)
            assert_good_page(page)


def test_a_wrong_scale_is_put_right_at_the_photograph(bench: Bench, window: Callable[..., Page]) -> None:
    page = window(PHONE)
    page.goto(bench.address + "/wood/take-in")
    page.get_by_label("How the scale is known").fill("600dpi")
    page.set_input_files("#photos", [str(pair_files()[0])])
    expect(page.locator("#coming")).to_contain_text("taken in", timeout=LONG_MS)
    page.goto(bench.address + "/wood/take-in")
    page.get_by_text("Scale and thickness: 600dpi").click()
    assert_good_page(page)
    own = page.get_by_label("How its scale is known")
    own.fill("5 foot")
    page.get_by_role("button", name="Look again with these").click()
    expect(own).to_have_attribute("aria-invalid", "true")
    own.fill("tags")
    page.get_by_label("Its thickness").fill("4.5")
    page.get_by_role("button", name="Look again with these").click()
    expect(page.get_by_text("Scale and thickness: tags")).to_be_visible()
    with bench.shop.read() as session:
        (row,) = session.scalars(select(Arrival)).all()
    assert (row.scale_spec, row.thickness_mm) == ("tags", 4.5)
