"""Doors: who may reach the server; the verb itself, as a process."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from seamlight.mistake import Mistake
from seamlight.shop.opening import open_shop
from seamlight.web.seals import Seals, shop_seals
from seamlight.web.serve import Door, open_door, serve

SERVE = [sys.executable, "-m", "seamlight", "serve"]


def close(door: Door) -> None:
    """Stop listening."""
    for listening in door.sockets:
        listening.close()


def test_by_default_only_this_computer_reaches_it() -> None:
    door = open_door(port=0)
    try:
        assert [one.getsockname()[0] for one in door.sockets] == ["127.0.0.1"]
        assert door.here.startswith("http://127.0.0.1:")
        assert not door.serving.share
    finally:
        close(door)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.7.2", "bench.example"])
def test_a_wider_host_needs_share(host: str) -> None:
    with pytest.raises(Mistake, match="--share"):
        open_door(host, 0)


def test_shared_it_listens_to_the_network_and_links_start_there() -> None:
    door = open_door(port=0, share=True)
    try:
        assert door.sockets[0].getsockname()[0] == "0.0.0.0"
        assert door.here.startswith("http://127.0.0.1:")
        assert "0.0.0.0" not in door.serving.address
    finally:
        close(door)


def test_a_port_that_is_taken_or_none_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(Mistake, match=f"port {port} is taken"):
            open_door(port=port)
    with pytest.raises(Mistake, match="70000 is no port"):
        open_door(port=70000)
    with pytest.raises(Mistake, match="no address of this computer"):
        open_door("198.51.100.7", 0, share=True)


def test_a_shop_is_served_once(tmp_path: Path) -> None:
    shop = open_shop(tmp_path / "shop", create=True)
    with shop.hold(), pytest.raises(Mistake, match="served already"):
        serve(shop, open_door(port=0))


def test_a_damaged_secret_is_told(tmp_path: Path) -> None:
    seals = shop_seals(tmp_path)
    assert shop_seals(tmp_path) == seals
    (tmp_path / "pages.secret").write_bytes(b"short")
    with pytest.raises(Mistake, match="damaged"):
        shop_seals(tmp_path)


def test_a_seal_opens_for_its_own_use_and_secret_only() -> None:
    seals = Seals(b"a" * 32)
    sealed = seals.seal("device", "token")
    assert seals.open("device", sealed) == "token"
    assert seals.open("form", sealed) is None
    assert Seals(b"b" * 32).open("device", sealed) is None
    assert seals.open("device", sealed + "x") is None
    assert seals.open("device", "é.é") is None


def started(folder: Path, *more: str) -> tuple[subprocess.Popen[str], str]:
    """A server of its own process, and the first line it says."""
    command = [*SERVE, "--shop", str(folder), "--port", "0", *more]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    return process, process.stdout.readline()


def test_the_verb_serves_until_it_is_stopped_and_what_was_kept_is_there_again(tmp_path: Path) -> None:
    process, line = started(tmp_path / "shop", "--share")
    try:
        address = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert address, line
        assert "Today" in urllib.request.urlopen(address[0]).read().decode()
        assert process.stdout is not None
        assert re.search(r"http://[^ ]+/pair-with/[0-9a-z-]{19}$", process.stdout.readline().strip())
        # As a device that was never let in would ask, through this computer's own door.
        asked = urllib.request.Request(address[0], headers={"X-Forwarded-For": "192.168.7.9"})
        with pytest.raises(urllib.error.HTTPError, match="401"):
            urllib.request.urlopen(asked)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)
    assert (tmp_path / "shop" / "shop.db").is_file()


def test_a_folder_with_other_things_does_not_become_a_shop(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("dear")
    command = [*SERVE, "--shop", str(tmp_path), "--port", "0"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert "holds other things and no shop" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["letters.txt"]


def test_the_verb_and_the_pages_agree_on_the_port() -> None:
    from seamlight.cli import serve as verb
    from seamlight.web import serve as pages

    assert verb.PORT == pages.PORT
