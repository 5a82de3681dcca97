"""A newcomer's first evening on a phone, from the demo through a killed server; work that a kill cut off."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from benches import PHONE
from photographed import pair_files, two_knots_files
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from seamlight.shop.check import check
from seamlight.shop.opening import open_shop
from seamlight.shop.wood import pair_by_label

LONG_MS = 120_000
FARTHEST_PX = 90


@contextmanager
def started(*verb: str, within: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A verb that ends in serving, as a person starts it in a folder; gives its address and the process."""
    command = [sys.executable, "-m", "seamlight", *verb, "--port", "0"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=within, env={**os.environ})
    try:
        assert process.stdout is not None
        told = (re.search(r"open at (http://\S+)/ ", line) for line in process.stdout)
        found = next(address for address in told if address)
        yield found[1], process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.wait(30)


def killed(process: subprocess.Popen[str]) -> None:
    """The power goes."""
    process.send_signal(signal.SIGKILL)
    process.wait(30)


class Finger:
    """A finger on the glass: touch events as the browser gets them from a screen."""

    def __init__(self, page: Page) -> None:
        self.glass = page.context.new_cdp_session(page)

    def _send(self, kind: str, *points: dict[str, float]) -> None:
        self.glass.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    def down(self, x: float, y: float) -> None:
        self._send("touchStart", {"x": x, "y": y})

    def to(self, x: float, y: float) -> None:
        self._send("touchMove", {"x": x, "y": y})

    def up(self) -> None:
        self._send("touchEnd")


def says_soundhole(page: Page) -> bool:
    """Whether the page tells of a knot that it falls in the soundhole."""
    return (
        re.search(r"knot.*falls in the soundhole", page.locator("[data-told=flaws]").inner_text(), re.I)
        is not None
    )


def drag_until(page: Page, done: Callable[[Page], bool]) -> None:
    """Drag the outline toward the tail, then the neck, until the page says so; a little on, and let go."""
    picture = page.locator("svg.desk-picture")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    assert box is not None
    x, y, finger = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, Finger(page)
    finger.down(x, y)
    for way in (1, -1):
        for step in range(1, FARTHEST_PX):
            finger.to(x, y + way * step)
            if done(page):
                finger.to(x, y + way * (step + 2))
                assert done(page)
                finger.up()
                return
    finger.up()
    raise AssertionError("dragged as far as it goes, and the page never said so")


def test_a_newcomers_first_evening(tmp_path: Path, window: Callable[..., Page]) -> None:
    """Two photographs, an opening, a knot moved into the soundhole, a sheet, three pairs jointed, a kill."""
    photographs = two_knots_files(tmp_path)
    home = tmp_path / "empty"
    home.mkdir()
    page = window(PHONE)
    with started("demo", within=home) as (address, demo):
        page.goto(
            f"{address}/classes/1"
        )  # the class as a live example: links used, wood given, both readings
        expect(page.get_by_text("seen by 1 device")).to_have_count(5)
        page.get_by_role("link", name="Student 3").click()
        expect(page.get_by_role("heading", name=re.compile("^Top: T"))).to_be_visible()
        expect(page.get_by_role("table")).to_contain_text(re.compile("3.10.*2.90", re.DOTALL))
        page.goto(f"{address}/wood")
        there = page.locator(".card").count()
        page.get_by_role("link", name="Take wood in").first.click()
        page.get_by_label("Thickness of the leaves").fill("4.5")
        page.set_input_files("#photos", [str(path) for path in photographs])
        page.get_by_role("heading", name=re.compile("a pair: the mirrored pictures match")).wait_for(
            timeout=LONG_MS
        )
        page.get_by_label("Species").fill("western redcedar")
        page.get_by_role("button", name="File these pairs").click()
        newest = page.locator(".card").first
        newest.get_by_text("to spare").first.wait_for(timeout=LONG_MS)
        expect(page.locator(".card")).to_have_count(there + 1)
        label = newest.locator(".card-name").inner_text()

        newest.click()
        page.locator(".desk.alive").wait_for()
        way = page.locator(".ways > li", has_text="A's right edge, neck at end 1").first
        way.get_by_role("button", name="Choose this one").click()
        expect(page.locator("[data-told=busy]")).to_have_text("Kept.", timeout=LONG_MS)
        page.get_by_text("Flaws inside the outline").click()
        expect(page.locator("[data-told=flaws]")).to_contain_text("Knot")
        assert not says_soundhole(page)
        page.locator("label:has(input[name=tool][value=outline])").click()
        with page.expect_response(lambda answer: answer.request.method == "PUT" and answer.ok):
            drag_until(page, says_soundhole)
        expect(page.locator("[data-told=busy]")).to_have_text("Kept.", timeout=LONG_MS)
        expect(page.locator("[data-told=verdict]")).to_have_attribute("data-rough", "no")
        assert says_soundhole(page)
        said = [page.locator(f"[data-told={name}]").text_content() for name in ("spare", "flaws", "verdict")]
        mine = page.url
        sheet = marking_sheet(page)

        page.goto(f"{address}/wood")
        jointed = page.locator(".card", has_text="rough").locator(".card-name").all_inner_texts()[:2]
        jointed.append(label)
        for one in jointed:
            page.get_by_label(f"tick {one}", exact=True).check()
        page.get_by_label("Those ticked are now").select_option("jointed")
        page.get_by_role("button", name="Mark them").click()
        expect(page.get_by_role("status")).to_contain_text("jointed")
        killed(demo)

    folder = home / "seamlight-demo" / "shop"
    shop = open_shop(folder)
    assert check(shop).findings == []
    with shop.read() as session:
        assert [row.stage for one in jointed if (row := pair_by_label(session, one))] == ["jointed"] * 3
    shop.close()
    with started("serve", "--shop", str(folder), within=home) as (address, _):
        page.goto(f"{address}/wood")
        expect(page.locator(".card")).to_have_count(there + 1)
        page.goto(address + urlsplit(mine)._replace(scheme="", netloc="").geturl())
        page.locator(".desk.alive").wait_for()
        expect(page.locator("[data-told=verdict]")).to_have_attribute("data-rough", "no")
        again = [page.locator(f"[data-told={name}]").text_content() for name in ("spare", "flaws", "verdict")]
        assert again == said
        assert marking_sheet(page) == sheet


def marking_sheet(page: Page) -> str:
    """The words of the sheet that the page's own link hands out."""
    link = page.get_by_role("link", name="Marking sheet").first
    answer = page.request.get(link.evaluate("(one) => one.href"), timeout=LONG_MS)
    assert answer.headers["content-type"] == "application/pdf"
    return "".join(leaf.extract_text() for leaf in PdfReader(BytesIO(answer.body())).pages)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty shop."""
    open_shop(tmp_path / "shop", create=True).close()
    return tmp_path / "shop"


def test_a_server_killed_while_it_reads_takes_it_up_again(
    folder: Path, tmp_path: Path, window: Callable[..., Page]
) -> None:
    page = window(PHONE)
    with started("serve", "--shop", str(folder), within=tmp_path) as (address, process):
        page.goto(f"{address}/wood/take-in")
        page.set_input_files("#photos", [str(path) for path in pair_files()])
        expect(page.locator("#coming")).to_contain_text(re.compile("taken in.*taken in"), timeout=LONG_MS)
        killed(process)
    with started("serve", "--shop", str(folder), within=tmp_path) as (address, _):
        page.goto(f"{address}/wood/take-in")
        page.get_by_role("heading", name="Pair 1").wait_for(timeout=LONG_MS)  # the page shows itself anew
        expect(page.get_by_role("heading", name="Pair 1")).to_contain_text("match")
