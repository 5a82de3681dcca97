"""Serving a shop: who may reach it, at which address, and running until it is stopped."""

from __future__ import annotations

import errno
import ipaddress
import socket
from collections.abc import Callable, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass

import uvicorn

from seamlight.mistake import Mistake
from seamlight.shop.shop import Shop
from seamlight.web.app import Beside, make_app
from seamlight.web.serving import Serving

LOCAL, EVERYWHERE = "127.0.0.1", "0.0.0.0"
PORT = 8765
# An address kept for documentation (RFC 5737); choosing a way there sends nothing.
_SOMEWHERE = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Door:
    """Sockets that listen, and how the pages behind them are served."""

    sockets: tuple[socket.socket, ...]
    here: str  # the address to open on this computer
    serving: Serving


def open_door(host: str | None = None, port: int = PORT, *, share: bool = False) -> Door:
    """Listen, to this computer only or with `share` to its network.

    Args:
        host: the address to listen at; by default 127.0.0.1, with `share` every one of this computer.
        port: 0 for any that is free.
        share: whether other devices may pair.

    Raises:
        Mistake: the host reaches beyond this computer without `share`, is none of this computer's, or the
            port is taken.
    """
    host = host or (EVERYWHERE if share else LOCAL)
    if not share and not _is_local(host):
        raise Mistake(
            f"{host} is reached from other devices",
            where="--host",
            do="add --share, so that they have to pair first",
        )
    first = _listen(host, port)
    port = first.getsockname()[1]
    # This computer itself always gets in, and is known by its own address.
    beside = () if _is_local(host) or host in (EVERYWHERE, "::") else (_listen(LOCAL, port),)
    local = host if _is_local(host) else LOCAL
    names = {socket.gethostname().lower(), f"{socket.gethostname().lower()}.local", host.lower()}
    serving = Serving(share=share, address=_address(_shown_host(host), port), names=frozenset(names))
    return Door((first, *beside), _address(local, port), serving)


def serve(
    shop: Shop,
    door: Door,
    *,
    beside: Sequence[Beside] = (),
    ready: Callable[[], None] = lambda: None,
) -> None:
    """Serve the shop through a door until stopped; the shop is held meanwhile.

    Args:
        shop: open.
        door: from `open_door`; closed at the end.
        beside: what runs along with the pages, see `make_app`.
        ready: called once the shop is held, before the first request is answered.

    Raises:
        Mistake: another server holds the shop.
    """
    with ExitStack() as stack:
        for listening in door.sockets:
            stack.enter_context(closing(listening))
        stack.enter_context(shop.hold())
        server = server_for(shop, door, beside=beside)
        ready()
        server.run(sockets=list(door.sockets))


def server_for(shop: Shop, door: Door, *, beside: Sequence[Beside] = ()) -> uvicorn.Server:
    """The server of a shop's pages, to be run on the door's sockets."""
    app = make_app(shop, settings=door.serving, beside=beside)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Whoever stands between would otherwise say where a request comes from; see `access`.
        proxy_headers=False,
        ws="none",
        timeout_graceful_shutdown=5,
    )
    return uvicorn.Server(config)


def _is_local(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _listen(host: str, port: int) -> socket.socket:
    if not 0 <= port < 65536:
        raise Mistake(f"{port} is no port", where="--port", do="give 0 to 65535")
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        both = host == "::" and socket.has_dualstack_ipv6()
        return socket.create_server((host, port), family=family, backlog=128, dualstack_ipv6=both)
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise Mistake(
                f"port {port} is taken", where="--port", do="name another, or stop what uses it"
            ) from error
        if error.errno == errno.EACCES:
            raise Mistake(f"port {port} is not allowed", where="--port", do="name one above 1023") from error
        raise Mistake("is no address of this computer", where=f"--host {host}", do="leave it out") from error


def _shown_host(host: str) -> str:
    """The address that another device finds this computer at."""
    if host not in (EVERYWHERE, "::"):
        return host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_SOMEWHERE)
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def _address(host: str, port: int) -> str:
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
