"""Twenty paired devices look around and send pictures at once: no error, and nothing is lost."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import httpx
import numpy as np
from benches import Bench, network_address
from PIL import Image
from sqlalchemy import select

from seamlight.shop.check import check
from seamlight.shop.devices import devices, make_link
from seamlight.shop.tables import Air, Arrival

DEVICES, PICTURES = 20, 3
LOOKED_AT = ("/", "/wood", "/wood/take-in", "/builds", "/shop", "/shop/air")


def picture(device: int, number: int) -> bytes:
    """A picture like no other."""
    noise = np.random.default_rng([device, number]).integers(0, 256, (90, 70, 3), np.uint8)
    out = io.BytesIO()
    Image.fromarray(noise).save(out, "JPEG")
    return out.getvalue()


def token(browser: httpx.Client) -> str:
    """The token of the page that is shown, also to a device that is not let in yet."""
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', browser.get("/shop/air").text)
    assert found
    return found[1]


def work(address: str, link: str, device: int) -> list[tuple[str, str]]:
    """One device's day: let in, then looking, sending (everything twice, as after a lost answer), noting."""
    sent = []
    with httpx.Client(base_url=address, timeout=120, follow_redirects=True) as browser:
        name = f"phone {device}"
        let_in = browser.post(f"/pair-with/{link}", data={"csrf": token(browser), "name": name})
        assert let_in.status_code == 200, let_in.text
        headers = {"X-CSRF": token(browser)}
        for number in range(PICTURES):
            data, key = picture(device, number), f"{name} {number}"
            for _ in range(2):
                files = {"photo": ("leaf.jpg", data, "image/jpeg")}
                answer = browser.post("/api/arrivals", data={"key": key}, files=files, headers=headers)
                assert answer.status_code == 201, answer.text
            sent.append((key, hashlib.sha256(data).hexdigest()))
            for path in LOOKED_AT[number::PICTURES]:
                assert browser.get(path).status_code == 200, path
            kept = browser.get(f"/files/{sent[-1][1]}")
            assert kept.content == data
        noted = browser.post("/shop/air", data={"rh": "45", "note": name}, headers=headers)
        assert noted.status_code == 200, noted.text
    return sent


def test_twenty_devices_at_once_lose_nothing(open_bench: Callable[..., Bench]) -> None:
    bench = open_bench(share=True)
    links = []
    for _ in range(DEVICES):
        with bench.shop.change("owner") as change:
            links.append(make_link(change)[0])
    with ThreadPoolExecutor(DEVICES) as pool:
        days = [pool.submit(work, network_address(bench), link, at) for at, link in enumerate(links)]
        sent = dict(pair for day in days for pair in day.result())
    assert len(sent) == DEVICES * PICTURES
    with bench.shop.read() as session:
        kept = {row.upload_key: row.file_sha256 for row in session.scalars(select(Arrival))}
        assert sorted(device.name for device in devices(session)) == sorted(
            f"phone {at}" for at in range(DEVICES)
        )
        assert len(session.scalars(select(Air)).all()) == DEVICES
    assert kept == sent
    assert check(bench.shop).sound
