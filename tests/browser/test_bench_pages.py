"""The bench in a real browser: three pairs ticked jointed, a clock that runs down, wood matched."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from playwright.sync_api import Page, expect

from laid_pairs import laid_pair
from seamlight.shop.air import note_air
from seamlight.shop.builds import ToGive, give, new_build
from seamlight.shop.clamps import shop_glues, start_clamps
from seamlight.shop.glues import glue_of
from seamlight.shop.stages import move
from seamlight.shop.wood import pair

Window = Callable[..., Page]
PAGES = (
    "/",
    "/builds",
    "/builds/new",
    "/builds/1",
    "/builds/1/edit",
    "/builds/2",
    "/builds/match",
    "/shop/grades",
    "/shop/grades/rack",
    "/shop/glue",
    "/shop/labels",
)


def busy(bench: Bench) -> list[int]:
    """A bench with something of everything; the first four tops are laid out."""
    with bench.shop.change("owner") as change:
        tops = [laid_pair(change, parlour=6.0 - n).id for n in range(6)]
        move(change, tops[:4], "laid out")
        move(change, tops[4:], "joined")
        note_air(change, 21.0, 45.0)
        glue = glue_of("pva", shop_glues(change.session))
        start_clamps(change, glue, pair_ids=[tops[4]])
        start_clamps(change, glue, pair_ids=[tops[5]], glued_at=change.at - timedelta(minutes=90))
        wishes = {"top": {"woods": ["Sitka spruce"], "least_grade": "First"}, "back": {}}
        one = new_build(
            change,
            label="Anna's parlour",
            for_whom="Anna",
            outline={"name": "parlour"},
            kind_wishes=wishes,
            want_by=date(2027, 3, 1),
        )
        new_build(change, label="Shop parlour", outline={"name": "parlour"}, kind_wishes=wishes)
        give(change, ToGive(one.id, "top", tops[0], "It fits."), locked=True)
    return tops


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (DESK, True)], ids=["phone, light", "desk, dark"])
def test_every_page_of_the_bench_is_accessible_fits_and_can_be_pressed(
    bench: Bench, window: Window, size: dict[str, int], dark: bool
) -> None:
    busy(bench)
    page = window(size, dark=dark)
    for path in PAGES:
        page.goto(bench.address + path)
        expect(page.locator("h1")).to_have_count(1)
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        assert_good_page(page)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_three_pairs_are_ticked_jointed_and_it_is_there_tomorrow(
    bench: Bench, window: Window, script: bool
) -> None:
    tops = busy(bench)
    page = window(PHONE, java_script_enabled=script)
    page.goto(bench.address)
    section = page.get_by_role("region", name=re.compile("^To joint"))
    for label in ("T1", "T2", "T3"):
        section.get_by_role("checkbox", name=re.compile(rf"^{label}\b")).check()
    section.get_by_role("button", name="Those ticked are jointed").click()
    expect(page.get_by_role("status")).to_have_text("T1, T2 and T3 are jointed.")
    expect(page.get_by_role("heading", name="To join 3")).to_be_visible()
    expect(page.get_by_role("heading", name="To joint 1")).to_be_visible()
    with bench.shop.read() as session:
        assert [pair(session, number).stage for number in tops[:4]] == ["jointed"] * 3 + ["laid out"]
    page.reload()
    expect(page.get_by_role("heading", name="To join 3")).to_be_visible()


def test_the_clock_runs_down_in_words_without_a_reload(bench: Bench, window: Window) -> None:
    busy(bench)
    page = window(PHONE)
    page.clock.install()
    page.goto(bench.address)
    running = page.locator("[data-until]").last
    expect(running).to_have_text(re.compile(r"^(1 h 00|59) min left$"))
    page.clock.fast_forward("31:00")
    expect(running).to_have_text(re.compile(r"^(28|29) min left$"))
    page.clock.fast_forward("30:00")
    expect(running).to_have_text("may come out")
    animated = page.evaluate("document.getAnimations().length")
    assert animated == 0


def test_out_of_the_clamps(bench: Bench, window: Window) -> None:
    busy(bench)
    page = window(PHONE)
    page.goto(bench.address)
    section = page.get_by_role("region", name="In the clamps")
    expect(section.get_by_role("checkbox", name=re.compile("^T6"))).to_be_checked()
    expect(section.get_by_role("checkbox", name=re.compile("^T5"))).not_to_be_checked()
    section.get_by_role("button", name="Out of the clamps").click()
    expect(page.get_by_role("status")).to_have_text("1 out of the clamps.")
    expect(page.get_by_role("region", name="In the clamps").get_by_role("checkbox")).to_have_count(1)


def test_what_was_typed_about_the_clamps_survives_a_lost_connection(bench: Bench, window: Window) -> None:
    busy(bench)
    page = window(PHONE)
    page.goto(bench.address)
    page.get_by_text("Put something into the clamps").click()
    form = page.locator("form[data-kept=clamps]")
    form.get_by_label("Pairs").fill("T2")
    page.context.set_offline(True)
    form.get_by_role("button", name="Into the clamps").click()
    expect(form.get_by_role("alert")).to_contain_text("No connection")
    page.context.set_offline(False)
    form.get_by_role("button", name="Into the clamps").click()
    expect(page.get_by_role("status")).to_contain_text("T2 in the clamps. Noted with it: 21 °C and 45 %")


def test_wood_is_matched_taken_over_and_locked(bench: Bench, window: Window) -> None:
    busy(bench)
    page = window(PHONE)
    page.goto(bench.address + "/builds")
    page.get_by_role("link", name="Match wood to instruments").click()
    expect(page.get_by_text("Locked by hand.")).to_be_visible()
    expect(page.get_by_role("heading", name="To buy")).to_be_visible()
    page.get_by_role("button", name="Give the wood out like this").click()
    expect(page.get_by_role("status")).to_contain_text("Taken over")
    page.get_by_role("link", name="Shop parlour").click()
    page.get_by_role("button", name="Lock the top").click()
    expect(page.get_by_role("status")).to_contain_text("Locked")
    expect(page.get_by_role("button", name="Unlock the top")).to_be_visible()


def test_on_paper_today_keeps_what_it_says_and_drops_its_buttons(bench: Bench, window: Window) -> None:
    busy(bench)
    page = window(DESK)
    page.goto(bench.address + "/builds/match")
    page.emulate_media(media="print")
    for one in page.locator("button, nav, .action").all():
        expect(one).to_be_hidden()
    expect(page.get_by_role("heading", name="To buy")).to_be_visible()
