"""Photographs that came in, as a browser sends them, and what the work in the background would find."""

from __future__ import annotations

import io

import numpy as np
from asking import Browser
from PIL import Image

from seamlight.layout.figure import Figure
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrival
from seamlight.shop.arrivals_met import keep_meetings, meet_all, meetings
from seamlight.shop.look import Look, look_bytes
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import sorted_in, to_match
from seamlight.shop.taking_in import look_key


def picture(seed: int = 1, kind: str = "JPEG", exif: bytes = b"") -> bytes:
    """A small picture like no other."""
    noise = np.random.default_rng(seed).integers(0, 256, (40, 30, 3), np.uint8)
    held = io.BytesIO()
    Image.fromarray(noise).save(held, kind, **({"exif": exif} if exif else {}))
    return held.getvalue()


def send(browser: Browser, data: bytes, key: str = "one", name: str = "leaf.jpg", **more: str):
    files = {"photo": (name, data, "image/jpeg")}
    headers = {"x-csrf": browser.token()}
    return browser.post("/api/arrivals", data={"key": key, **more}, files=files, headers=headers)


def some_figure(seed: int) -> Figure:
    """Rings like no other's."""
    rings = np.random.default_rng(seed).integers(-60, 60, (1, 240))
    return Figure(np.tile(rings, (120, 1)).astype(np.int8), 60.0, 120.0)


def compare(shop: Shop) -> None:
    """As the work in the background does."""
    with shop.read() as session:
        leaves = to_match(session, shop)
    keep_meetings(shop.made, meet_all(leaves, meetings(shop.made), lambda call, *given: call(*given)))


def sorted_groups(shop: Shop) -> list[tuple[tuple[int, ...], str]]:
    """Arrivals that the page shows together, and why."""
    with shop.read() as session:
        groups = sorted_in(session, shop)
    return [(tuple(one.arrival.id for one in group.members), group.says) for group in groups]


def looked_at(shop: Shop, number: int, leaves: int = 1, why: str = "", figure: Figure | None = None) -> None:
    """As if the first look was done."""
    with shop.read() as session:
        key = look_key(arrival(session, number))
    shop.made.keep(key, look_bytes(Look(b"", leaves, figure, why)))


def come_in(owner: Browser, shop: Shop, count: int) -> list[int]:
    """Photographs that were sent and looked at."""
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, count + 1)]
    for number in numbers:
        looked_at(shop, number)
    return numbers


def said_of(shop: Shop, number: int) -> tuple[str | None, float | None]:
    with shop.read() as session:
        row = arrival(session, number)
    return row.scale_spec, row.thickness_mm


def looks_asked(shop: Shop) -> list[int | None]:
    with shop.read() as session:
        return [job.subject_id for job in jobs.jobs(session, kind="look")]


def nothing_under_way(shop: Shop) -> None:
    with shop.change("background") as change:
        while (job := jobs.take(change)) is not None:
            jobs.finish(change, job.id)
