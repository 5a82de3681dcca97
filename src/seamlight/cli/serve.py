"""`seamlight serve`: the shop's pages in a browser."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from seamlight.cli.options import Verbs
from seamlight.cli.shop_options import add_shop, database_url
from seamlight.mistake import Mistake

if TYPE_CHECKING:
    from seamlight.shop.shop import Shop
    from seamlight.web.serve import Door

# The pages are imported when they are served: no other verb shall wait for them.

PORT = 8765  # the same as `web.serve` has it; a test holds them together


def add_verb(verbs: Verbs) -> None:
    """Add `serve`."""
    parser = verbs.add_parser("serve", help="open the shop's pages in a browser")
    add_shop(parser)
    parser.add_argument(
        "--host", help="the address to listen at (default: this computer only; with --share its network)"
    )
    parser.add_argument("--port", type=int, default=PORT, help=f"default {PORT}; 0 for any that is free")
    parser.add_argument(
        "--share", action="store_true", help="let devices of the local network in, each by a one-time link"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Open the shop, say where its pages are, serve until stopped."""
    from seamlight.shop.opening import open_shop
    from seamlight.web.serve import open_door, serve
    from seamlight.web.work import working

    folder = args.shop.expanduser()
    url = database_url()
    _check_new(folder, by_url=url is not None)
    shop = open_shop(folder, url=url, create=True)
    try:
        door = open_door(args.host, args.port, share=args.share)
        serve(shop, door, beside=(working,), ready=lambda: _tell(shop, door))
    finally:
        shop.close()


def _check_new(folder: Path, *, by_url: bool) -> None:
    """A folder that holds something else does not become a shop by a slip of the pen."""
    there = (folder / "shop.db").is_file() or by_url
    if not there and folder.is_dir() and any(folder.iterdir()):
        raise Mistake(
            "holds other things and no shop", where=str(folder), do="name the shop's folder, or a new one"
        )


def _tell(shop: Shop, door: Door) -> None:
    """Where the pages are; with --share a link for the first device, as a code to scan."""
    import segno

    from seamlight.shop.devices import LINK_LASTS, make_link
    from seamlight.web.device_pages import link_address

    print(f"The shop {shop.folder} is open at {door.here}/ (Ctrl-C closes it)", flush=True)
    if not door.serving.share:
        return
    with shop.change("command line") as change:
        token, _ = make_link(change)
    address = link_address(door.serving, token)
    if sys.stdout.isatty():
        segno.make(address, error="l").terminal(compact=True)
    minutes = int(LINK_LASTS.total_seconds() // 60)
    print(f"Let one device of your network in within {minutes} minutes: {address}")
    print("More links: the page Shop, Devices. What pairing protects against: docs/network.md", flush=True)
