"""A shop that is served to a test, and the windows it is looked at through."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread

from seamlight.shop.opening import open_shop
from seamlight.shop.shop import Shop
from seamlight.web.app import Beside
from seamlight.web.serve import open_door, server_for

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


@dataclass(frozen=True)
class Bench:
    """A shop that is being served."""

    shop: Shop
    address: str  # without a slash at its end

    @property
    def port(self) -> int:
        """The server's port."""
        return int(self.address.rpartition(":")[2])


@contextmanager
def serving(
    folder: Path,
    *,
    share: bool = False,
    beside: Sequence[Beside] = (),
    port: int = 0,
    url: str | None = None,
) -> Iterator[Bench]:
    """Serve the shop of a folder, or of a database by its URL, from a thread of the test's own process."""
    shop = open_shop(folder, create=True, url=url)
    # With `share` it listens at every address of this computer, as it does for a workshop.
    door = open_door(port=port, share=share)
    server = server_for(shop, door, beside=beside)
    thread = Thread(target=server.run, kwargs={"sockets": list(door.sockets)}, daemon=True)
    thread.start()
    try:
        while not server.started:
            if not thread.is_alive():
                raise RuntimeError("the server ended at once")
            time.sleep(0.01)
        yield Bench(shop, door.here)
    finally:
        server.should_exit = True
        thread.join(20)
        for listening in door.sockets:
            listening.close()
        shop.close()


def network_address(bench: Bench) -> str:
    """The bench as another device asks for it: by this computer's number in its network.

    What asks there does not come from 127.0.0.1, so that it counts as another device.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # kept for documentation (RFC 5737); nothing is sent
        return f"http://{probe.getsockname()[0]}:{bench.port}"
