"""A newcomer's first evening on a phone: from two photographs to a sheet, through a killed server."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from benches import PHONE
from photographed import pair_files
from playwright.sync_api import Page, expect

from seamlight.shop.check import check
from seamlight.shop.choices import choice
from seamlight.shop.opening import open_shop
from seamlight.shop.wood import new_pair, pair_by_label

LONG_MS = 120_000


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """`seamlight serve` as a person starts it; gives its address and the process."""
    command = [sys.executable, "-m", "seamlight", "serve", "--shop", str(folder), "--port", "0"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env={**os.environ})
    try:
        assert process.stdout is not None
        found = re.search(r"http://\S+?(?=/)/?", process.stdout.readline())
        assert found
        yield found[0].rstrip("/").rsplit("/", 0)[0], process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.wait(30)


def killed(process: subprocess.Popen[str]) -> None:
    """The power goes."""
    process.send_signal(signal.SIGKILL)
    process.wait(30)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop with three pairs on the rack."""
    shop = open_shop(tmp_path / "shop", create=True)
    with shop.change("owner") as change:
        for _ in range(3):
            new_pair(change, kind="back", species_common="maple")
    shop.close()
    return tmp_path / "shop"


def test_from_two_photographs_to_a_sheet_through_a_killed_server(
    folder: Path, window: Callable[..., Page]
) -> None:
    page = window(PHONE)
    with served(folder) as (address, process):
        page.goto(f"{address}/wood/take-in")
        page.get_by_label("Thickness of the leaves").fill("4.5")
        page.set_input_files("#photos", [str(path) for path in pair_files()])
        page.get_by_role("heading", name="Pair 1").wait_for(timeout=LONG_MS)
        page.get_by_label("Species").fill("western redcedar")
        page.get_by_role("button", name="File these pairs").click()
        page.locator(".card", has_text="T1").get_by_text("to spare").first.wait_for(timeout=LONG_MS)

        page.get_by_role("link", name=re.compile("^T1")).click()
        page.locator(".desk.alive").wait_for()
        page.get_by_role("button", name="Choose this one").nth(1).click()
        page.locator(".desk.alive").wait_for()
        page.locator("label:has(input[name=tool][value=outline])").click()
        page.locator("svg.desk-picture").focus()
        for _ in range(6):
            page.keyboard.press("ArrowDown")
        expect(page.locator("[data-told=busy]")).to_have_text("Kept.", timeout=LONG_MS)
        expect(page.locator("[data-told=verdict]")).to_have_attribute("data-rough", "no")
        said = page.locator("[data-told=spare] b").inner_text()
        sheet = page.get_by_role("link", name="Marking sheet").first.get_attribute("href")
        assert sheet is not None
        answer = page.request.get(address + sheet, timeout=LONG_MS)
        assert answer.body().startswith(b"%PDF")

        page.goto(f"{address}/wood?kind=back")
        for box in page.locator(".tick input").all():
            box.check()
        page.get_by_label("Those ticked are now").select_option("jointed")
        page.get_by_role("button", name="Mark them").click()
        expect(page.get_by_role("status")).to_contain_text("jointed")
        killed(process)

    shop = open_shop(folder)
    assert check(shop).sound
    with shop.read() as session:
        found = pair_by_label(session, "T1")
        assert found is not None
        chosen = choice(session, found.id)
        stages = [pair_by_label(session, f"B{n}") for n in (1, 2, 3)]
    shop.close()
    assert chosen is not None
    assert [one.stage for one in stages if one] == ["jointed"] * 3

    with served(folder) as (address, _):
        page.goto(f"{address}/wood")
        expect(page.locator(".card")).to_have_count(4)
        page.get_by_role("link", name=re.compile("^T1")).click()
        page.locator(".desk.alive").wait_for()
        expect(page.locator("[data-told=verdict]")).to_have_attribute("data-rough", "no")
        expect(page.locator("[data-told=spare] b")).to_have_text(said)


def test_a_server_killed_while_it_reads_takes_it_up_again(folder: Path, window: Callable[..., Page]) -> None:
    page = window(PHONE)
    with served(folder) as (address, process):
        page.goto(f"{address}/wood/take-in")
        page.set_input_files("#photos", [str(path) for path in pair_files()])
        expect(page.locator("#coming")).to_contain_text(re.compile("taken in.*taken in"), timeout=LONG_MS)
        killed(process)
    with served(folder) as (address, _):
        page.goto(f"{address}/wood/take-in")
        page.get_by_role("heading", name="Pair 1").wait_for(timeout=LONG_MS)  # the page shows itself anew
        expect(page.get_by_role("heading", name="Pair 1")).to_contain_text("match")
