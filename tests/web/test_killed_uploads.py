"""The real server killed at random moments of uploads over HTTP: what it acknowledged is there and whole."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import random
import re
import signal
import time
from pathlib import Path
from threading import Event, Thread

import httpx
import numpy as np
from PIL import Image
from sqlalchemy import select

from seamlight.shop import open_shop
from seamlight.shop.check import check
from seamlight.shop.tables import Arrival
from seamlight.web.serve import open_door, server_for

KILLS, PHONES, LONGEST_S, SIDE_PX = 12, 3, 1.2, 96


def picture(seed: int) -> bytes:
    """A photograph of noise, a little other than every other."""
    dots = np.random.default_rng(seed).integers(0, 255, (SIDE_PX, SIDE_PX, 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(dots).save(out, "JPEG", quality=80)
    return out.getvalue()


class Phone:
    """Sends pictures one after another, each again under its own key until it is acknowledged."""

    def __init__(self, number: int) -> None:
        self.number, self.count = number, 0
        self.told: dict[str, str] = {}
        self.cut_off = 0

    def send_until(self, address: str, over: Event) -> None:
        """Send until the server is gone."""
        try:
            with httpx.Client(base_url=address, timeout=20) as client:
                found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/shop/air").text)
                assert found
                headers = {"X-CSRF": found[1]}
                while not over.is_set():
                    self._send(client, headers)
        except httpx.TransportError:
            self.cut_off += 1

    def _send(self, client: httpx.Client, headers: dict[str, str]) -> None:
        key, data = f"phone {self.number} {self.count}", picture(self.number * 10_000 + self.count)
        files = {"photo": ("leaf.jpg", data, "image/jpeg")}
        answer = client.post("/api/arrivals", data={"key": key}, files=files, headers=headers)
        assert answer.status_code in (200, 201), answer.text
        self.told[key] = hashlib.sha256(data).hexdigest()
        self.count += 1


def served(folder: Path) -> tuple[str, int]:
    """The server in a process of its own, forked so that it need not start up anew; address and process."""
    door = open_door(port=0)
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            server_for(open_shop(folder), door).run(sockets=list(door.sockets))
        os._exit(0)
    for listening in door.sockets:
        listening.close()
    return door.here, child


def test_every_acknowledged_upload_outlives_a_killed_server(tmp_path: Path) -> None:
    folder, dice = tmp_path / "shop", random.Random(7)
    open_shop(folder, create=True).close()
    phones = [Phone(number) for number in range(PHONES)]
    for _ in range(KILLS):
        address, server = served(folder)
        over = Event()
        threads = [Thread(target=phone.send_until, args=(address, over)) for phone in phones]
        try:
            for thread in threads:
                thread.start()
            time.sleep(dice.uniform(0.2, LONGEST_S))
        finally:
            os.kill(server, signal.SIGKILL)
            os.waitpid(server, 0)
            over.set()
            for thread in threads:
                thread.join(30)
        shop = open_shop(folder)
        try:
            assert [finding for finding in check(shop).findings if finding.grave] == []
            with shop.read() as session:
                rows = session.execute(select(Arrival.upload_key, Arrival.file_sha256)).tuples().all()
            told = {key: sha for phone in phones for key, sha in phone.told.items()}
            assert len(rows) == len(dict(rows))
            assert told.items() <= dict(rows).items()
            for sha in told.values():
                assert hashlib.sha256(shop.files.path(sha).read_bytes()).hexdigest() == sha
        finally:
            shop.close()
    assert sum(len(phone.told) for phone in phones) > KILLS
    assert sum(phone.cut_off for phone in phones) > KILLS  # killed while they were sending
