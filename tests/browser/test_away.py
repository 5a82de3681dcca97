"""The shop's computer cannot be reached: a page of ours says so and shows nothing that was seen before."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from benches import PHONE, Bench, network_address, serving
from looking import assert_good_page
from playwright.sync_api import Browser, Page, expect

from seamlight.shop import wood
from seamlight.shop.devices import devices, make_link, revoke

CHROMIUM = "/usr/bin/chromium"
READY = "navigator.serviceWorker.ready.then((there) => there.active.state)"
KEPT = """async () => {
    const all = [];
    for (const name of await caches.keys()) all.push(...await (await caches.open(name)).keys());
    return all.map((one) => new URL(one.url).pathname);
}"""
ONLY = ["/static/away.html", "/static/mark.svg", "/static/seamlight.css"]


def with_worker(page: Page, address: str) -> None:
    """Open the page, and wait until the worker answers for it."""
    page.goto(address)
    assert page.evaluate(READY) in ("activating", "activated")
    page.wait_for_function("navigator.serviceWorker.controller !== null")


def test_a_link_tapped_while_the_server_is_gone(tmp_path: Path, window: Callable[..., Page]) -> None:
    page = window(PHONE)
    with serving(tmp_path / "shop") as bench:
        with bench.shop.change("owner") as change:
            wood.new_pair(change, kind="top", label="T7", notes="for nobody else's eyes")
        with_worker(page, f"{bench.address}/wood")
        page.goto(f"{bench.address}/wood/pairs/1")
        expect(page.get_by_role("heading", level=1)).to_contain_text("T7")
        page.goto(f"{bench.address}/shop/air")
        page.get_by_label("Note").fill("heating on")
        port = bench.port
    page.get_by_role("link", name="Wood").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("You are offline")
    assert page.url == f"{bench.address}/wood"
    assert_good_page(page)
    for path in ("/wood/pairs/1", "/made/rack-1.jpg", "/shop"):  # seen before or not: nothing of it is shown
        page.goto(f"{bench.address}{path}")
        expect(page.get_by_role("heading", level=1)).to_have_text("You are offline")
        assert "T7" not in page.content()
    assert sorted(page.evaluate(KEPT)) == ONLY
    with serving(tmp_path / "shop", port=port) as again:
        page.get_by_role("link", name="Try again").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Shop")
        page.goto(f"{again.address}/shop/air")
        expect(page.get_by_label("Note")).to_have_value("heating on")


def test_a_link_on_another_site_leads_in_as_without_the_worker(
    bench: Bench, window: Callable[..., Page]
) -> None:
    page = window(PHONE)
    with_worker(page, bench.address)
    page.route(
        "http://other.example/",
        lambda route: route.fulfill(
            body=f'<a href="{bench.address}/wood">wood</a>', content_type="text/html"
        ),
    )
    page.goto("http://other.example/")
    page.get_by_role("link", name="wood").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Wood")


@pytest.fixture
def trusting(chromium: Browser, open_bench: Callable[..., Bench]) -> Iterator[tuple[Bench, Page, str]]:
    """A shared shop, and a browser that takes its address in the network for as safe as https."""
    bench = open_bench(share=True)
    address = network_address(bench)
    flags = ["--no-sandbox", f"--unsafely-treat-insecure-origin-as-secure={address}"]
    browser = chromium.browser_type.launch(executable_path=CHROMIUM, args=flags)
    page = browser.new_context(viewport=PHONE).new_page()
    page.set_default_timeout(60_000)
    yield bench, page, address
    browser.close()


def test_a_device_taken_off_the_list_sees_nothing_again(trusting: tuple[Bench, Page, str]) -> None:
    bench, page, address = trusting
    with bench.shop.change("owner") as change:
        wood.new_pair(change, kind="top", label="T7")
        token, _ = make_link(change)
    page.goto(f"{address}/pair-with/{token}")
    page.get_by_label("What shall this device be called?").fill("bench phone")
    page.get_by_role("button", name="Let it in").click()
    with_worker(page, f"{address}/wood/pairs/1")
    expect(page.get_by_role("heading", level=1)).to_contain_text("T7")
    with bench.shop.change("owner") as change:
        revoke(change, devices(change.session)[0].id)
    for path in ("/wood/pairs/1", "/"):
        answer = page.goto(f"{address}{path}")
        assert answer is not None
        assert answer.status == 401
        expect(page.get_by_role("heading", level=1)).to_have_text("This device is not paired")
        assert "T7" not in page.content()


def test_a_plain_address_in_the_network_has_no_worker_and_still_keeps_what_was_typed(
    open_bench: Callable[..., Bench], window: Callable[..., Page]
) -> None:
    """Browsers allow a worker on this computer and over https only."""
    bench = open_bench(share=True)
    with bench.shop.change("owner") as change:
        token, _ = make_link(change)
    page, address = window(PHONE), network_address(bench)
    page.goto(f"{address}/pair-with/{token}")
    page.get_by_label("What shall this device be called?").fill("bench phone")
    page.get_by_role("button", name="Let it in").click()
    page.goto(f"{address}/shop/air")
    assert page.evaluate("navigator.serviceWorker === undefined")
    page.get_by_label("Note").fill("heating on")
    page.context.set_offline(True)
    page.get_by_label("Humidity").fill("45")
    page.get_by_role("button", name="Note the air").click()
    expect(page.get_by_role("alert")).to_contain_text("No connection to the shop")
    page.context.set_offline(False)
    page.reload()
    expect(page.get_by_label("Note")).to_have_value("heating on")
