"""A shop on SQLite and on PostgreSQL."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from keeping import Clock

from postgres_server import postgres, ready, server, with_tables
from seamlight.shop import Shop, open_shop

__all__ = ["postgres", "ready", "server", "with_tables"]


@pytest.fixture(scope="session")
def empty_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an empty shop, to be copied."""
    folder = tmp_path_factory.mktemp("empty") / "shop"
    open_shop(folder, create=True).close()
    return folder


@pytest.fixture
def clock() -> Clock:
    """The shop's clock."""
    return Clock()


@pytest.fixture
def on_sqlite(tmp_path: Path, empty_shop: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop on SQLite."""
    shutil.copytree(empty_shop, tmp_path / "shop")
    opened = open_shop(tmp_path / "shop", clock=clock)
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", "postgres"])
def shop(request: pytest.FixtureRequest, tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop, once on each database."""
    if request.param == "sqlite":
        yield request.getfixturevalue("on_sqlite")
        return
    opened = open_shop(tmp_path / "shop", url=request.getfixturevalue("ready")(), create=True, clock=clock)
    yield opened
    opened.close()
