"""What stands beside the pair's picture in a real browser: said once it is kept, shown when it is done."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from playwright.sync_api import Page, expect

from seamlight.shop import jobs
from seamlight.shop.stages import move
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import ask_read
from seamlight.shop.tally import planed, weigh

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "web"))
from filed_pair import file_pair

Window = Callable[..., Page]


@pytest.fixture
def pair(bench: Bench) -> Pair:
    """A top of two leaves, laid out for a parlour."""
    return file_pair(bench.shop)


def unfold(page: Page, name: str) -> None:
    page.locator("summary", has_text=name).click()


def test_what_was_noted_is_seen_at_once_and_noted_once(window: Window, bench: Bench, pair: Pair) -> None:
    page = window(PHONE)
    page.goto(f"{bench.address}/wood/pairs/{pair.id}")
    unfold(page, "Planed so far")
    page.get_by_label("By", exact=True).fill("0.4")
    page.locator("form[action$='/planed'] button").click()
    expect(page.get_by_text("Noted so far (1)")).to_be_visible()
    expect(page.get_by_label("By", exact=True)).to_have_value("")
    with bench.shop.read() as session:
        assert len(planed(session, pair.id)) == 1


def test_a_page_shows_itself_anew_when_the_reading_is_done(window: Window, bench: Bench, pair: Pair) -> None:
    still, touched = window(PHONE), window(PHONE)
    with bench.shop.change("owner") as change:
        job = ask_read(change, pair.id)
    assert job is not None
    for page in (still, touched):
        page.goto(f"{bench.address}/wood/pairs/{pair.id}")
        expect(page.locator("[data-await]")).to_contain_text("Being read and laid out")
    unfold(touched, "Planed so far")
    touched.get_by_label("By", exact=True).fill("0.4")
    with bench.shop.change("background") as change:
        jobs.finish(change, job.id)
    expect(still.locator("[data-await]")).to_have_count(0)
    expect(touched.locator("[data-await]")).to_contain_text("It is done; show it")
    expect(touched.get_by_label("By", exact=True)).to_have_value("0.4")


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (DESK, True)], ids=["phone", "desk, dark"])
def test_the_folds_are_good_pages(
    window: Window, bench: Bench, pair: Pair, size: dict[str, int], dark: bool
) -> None:
    with bench.shop.change("owner") as change:
        first = weigh(change, pair.id, "both", 400.0)
        first.at = change.at - timedelta(days=7)
        weigh(change, pair.id, "both", 398.0)
    page = window(size, dark=dark)
    page.goto(f"{bench.address}/wood/pairs/{pair.id}")
    page.evaluate("document.querySelectorAll('details.fold').forEach((fold) => { fold.open = true; })")
    expect(page.locator(".weight-chart")).to_contain_text("still loses 0.5 % a week")
    assert_good_page(page)


def test_a_slip_matched_pair_still_moves_under_the_finger(window: Window, bench: Bench, pair: Pair) -> None:
    page = window(DESK)
    here = f"{bench.address}/wood/pairs/{pair.id}"
    page.goto(here)
    unfold(page, "Laid out with")
    page.get_by_label("Matched").select_option("slip")
    page.get_by_role("button", name="Lay it out so").click()
    expect(page.locator("summary", has_text="Laid out with")).to_contain_text("slip-matched")
    page.locator(".desk.alive").wait_for()
    unfold(page, "small steps")
    with page.expect_response("**/choice"):
        page.get_by_role("button", name="Outline along the joint: tail").click()
    expect(page.locator("[data-told=trouble]")).to_be_hidden()


def test_the_bench_on_paper_names_every_piece(window: Window, bench: Bench, pair: Pair) -> None:
    with bench.shop.change("owner") as change:
        move(change, [pair.id], "jointed")
    page = window(DESK)
    page.goto(bench.address)
    page.emulate_media(media="print")
    expect(page.locator(".piece-words strong", has_text=pair.label)).to_be_visible()
    for gone in ("nav", "button", "input[type=checkbox]", "select", "summary"):
        for one in page.locator(gone).all():
            expect(one).to_be_hidden()
