"""A browser of the tests: asks as someone, from somewhere, and presses buttons as a page's form would."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
from fastapi import FastAPI
from starlette.testclient import TestClient

HERE, PHONE = "127.0.0.1", "192.168.7.21"


class Clock:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 12, 9, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def wait(self, **much: float) -> None:
        """Let time pass, as `timedelta` takes it."""
        self.now += timedelta(**much)


class Browser(TestClient):
    """One browser with its own cookies."""

    def __init__(self, app: FastAPI, address: str = HERE, host: str = "127.0.0.1:8765", **more: Any) -> None:
        super().__init__(
            app, base_url=f"http://{host}", client=(address, 50000), follow_redirects=False, **more
        )

    def token(self) -> str:
        """The page's token; every page shows one, also that which refuses."""
        page = self.get("/")
        if page.is_redirect:
            page = self.get(page.headers["location"])
        found = re.search(r'<meta name="csrf" content="([0-9a-f]+)"', page.text)
        assert found, page.text
        return found[1]

    def press(self, path: str, files: Any = None, **fields: Any) -> httpx.Response:
        """Post a form of ours."""
        return self.post(path, data={"csrf": self.token(), **fields}, files=files)
