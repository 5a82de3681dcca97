"""The rack's page of a thousand pairs against the same engine rendering the same page from facts held ready.

The peer is a route of the same app, behind the same guard, that renders the rack's template with the facts of
that very page held in memory: the page as it would be if nothing had to be asked for. A second peer renders
the finished page's text as a template without a single expression: the least that the engine can do.

Run: python benchmarks/bench_pages.py
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any
from unittest.mock import patch

from fastapi import Request
from jinja2 import Environment
from starlette.responses import HTMLResponse
from starlette.testclient import TestClient

from least_of import least_seconds
from seamlight.shop.opening import open_shop
from seamlight.shop.readings import keep_reading
from seamlight.shop.shop import Shop
from seamlight.shop.tables import PairFigure, PairFit
from seamlight.shop.taking_in import rack_key
from seamlight.shop.wood import new_pair
from seamlight.web import render, wood
from seamlight.web.app import make_app

PAIRS = 1000
ROUNDS = 15


def fill(shop: Shop) -> None:
    """A thousand invented pairs with figures and pictures."""
    with shop.change("benchmark") as change:
        for number in range(PAIRS):
            kind = "top" if number % 2 else "back"
            pair = new_pair(change, kind=kind, species_key="maple", species_common="maple")
            kept = keep_reading(change, "layout", {"openings": []}, pair_id=pair.id)
            figure = change.session.get(PairFigure, pair.id)
            assert figure is not None
            figure.spare_mm, figure.lines_per_inch = number % 30 - 5.0, 12.0 + number % 11
            for name in ("parlour", "auditorium", "dreadnought"):
                change.session.add(
                    PairFit(
                        pair_id=pair.id,
                        outline=name,
                        fits=number % 30 > 4,
                        spare_mm=number % 30 - 5.0,
                        reading_id=kept.id,
                    )
                )
            shop.made.keep(rack_key(pair.id), b"picture")


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        shop = open_shop(Path(folder) / "shop", create=True)
        fill(shop)
        app = make_app(shop)
        held: dict[str, Any] = {}

        def remember(request: Request, name: str, /, **facts: Any) -> HTMLResponse:
            held.update(facts)
            return render.page(request, name, **facts)

        @app.get("/held-ready")
        def held_ready(request: Request) -> HTMLResponse:
            return render.page(request, "rack.html", **held)

        browser = TestClient(app, base_url="http://127.0.0.1:8765", client=("127.0.0.1", 50000))
        with patch.object(wood, "page", remember):
            text = browser.get("/wood").text
        plain = Environment(autoescape=True).from_string(text)

        @app.get("/plain-text")
        def plain_text(request: Request) -> HTMLResponse:
            return HTMLResponse(plain.render())

        assert len(browser.get("/held-ready").text) == len(text)
        rows = [
            ("the rack of 1,000 pairs, asked of the shop", "/wood"),
            ("the same page from facts held ready", "/held-ready"),
            ("the same text as a template without an expression", "/plain-text"),
        ]
        seconds = [least_seconds(lambda path=path: browser.get(path), ROUNDS) for _, path in rows]
        print(f"| page of {len(text) / 1000:.0f} kB | ms | the rack, times as long |\n| --- | --- | --- |")
        for (name, _), took in zip(rows, seconds, strict=True):
            print(f"| {name} | {took * 1000:.1f} | {seconds[0] / took:.2f} |")
        shop.close()


if __name__ == "__main__":
    main()
