"""A real server on a free port with a shop of its own, and a real Chromium that looks at it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

import pytest
from benches import DESK, PHONE, Bench, serving
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from postgres_server import ready, server, with_tables
from seamlight.web.app import Beside

__all__ = ["ready", "server", "with_tables"]

CHROMIUM = Path("/usr/bin/chromium")
SOON_MS = 60_000
expect.set_options(timeout=20_000)  # a busy machine is slow, not wrong


@pytest.fixture
def open_bench(tmp_path: Path) -> Iterator[Callable[..., Bench]]:
    """Starts servers: `open_bench(share=True, beside=(working,))`; they end with the test."""
    with ExitStack() as stack:
        count = iter(range(9))

        def start(*, share: bool = False, beside: Sequence[Beside] = (), url: str | None = None) -> Bench:
            folder = tmp_path / f"shop-{next(count)}"
            return stack.enter_context(serving(folder, share=share, beside=beside, url=url))

        yield start


@pytest.fixture
def bench(open_bench: Callable[..., Bench]) -> Bench:
    """An empty shop served to this computer only, without work in the background."""
    return open_bench()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser; where there is none the test is skipped, which the house counts as failed under CI."""
    if not CHROMIUM.is_file():
        pytest.skip(f"needs Chromium at {CHROMIUM}")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def window(chromium: Browser) -> Iterator[Callable[..., Page]]:
    """Opens windows, each with its own cookies: `window(PHONE, dark=True)`.

    An error in a page's own script, or something that the page's policy refused, fails the test.
    """
    contexts: list[BrowserContext] = []
    wrong: list[str] = []

    def opened(size: dict[str, int] = DESK, *, dark: bool = False, **more: object) -> Page:
        context = chromium.new_context(
            viewport={"width": size["width"], "height": size["height"]},
            color_scheme="dark" if dark else "light",
            has_touch=size is PHONE,
            **more,  # type: ignore[arg-type]
        )
        contexts.append(context)
        context.set_default_timeout(SOON_MS)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "console",
            lambda said: wrong.append(said.text) if "Content Security Policy" in said.text else None,
        )
        return page

    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


@pytest.fixture
def phone(window: Callable[..., Page], bench: Bench) -> Page:
    """The bench's Today on a phone."""
    page = window(PHONE)
    page.goto(bench.address)
    return page


@pytest.fixture
def desk(window: Callable[..., Page], bench: Bench) -> Page:
    """The bench's Today on a desk."""
    page = window(DESK)
    page.goto(bench.address)
    return page
