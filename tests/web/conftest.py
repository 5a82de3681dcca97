"""A shop, its pages, and browsers that look at them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from asking import PHONE, Browser, Clock
from fastapi import FastAPI

from postgres_server import server, with_tables
from seamlight.shop.opening import open_shop
from seamlight.shop.shop import Shop
from seamlight.web.app import make_app
from seamlight.web.serving import Serving

__all__ = ["server", "with_tables"]


@pytest.fixture
def clock() -> Clock:
    """The shop's clock."""
    return Clock()


@pytest.fixture
def shop(tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop."""
    opened = open_shop(tmp_path / "shop", create=True, clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def app(shop: Shop) -> FastAPI:
    """Its pages, shared with the network."""
    return make_app(shop, settings=Serving(share=True, address="http://192.168.7.2:8765"))


@pytest.fixture
def owner(app: FastAPI) -> Browser:
    """The browser of the shop's own computer."""
    return Browser(app)


@pytest.fixture
def stranger(app: FastAPI) -> Browser:
    """A browser of another device that was never paired."""
    return Browser(app, PHONE, "192.168.7.2:8765")


@pytest.fixture
def paired(app: FastAPI, shop: Shop) -> Callable[..., Browser]:
    """Makes a paired device; with a student it is a class link's."""
    from seamlight.shop.devices import make_link

    def pair(name: str = "bench phone", student_id: int | None = None) -> Browser:
        with shop.change("owner") as change:
            token, _ = make_link(change, student_id=student_id)
        browser = Browser(app, PHONE, "192.168.7.2:8765")
        answer = browser.press(f"/pair-with/{token}", name=name)
        assert answer.status_code == 303, answer.text
        return browser

    return pair
