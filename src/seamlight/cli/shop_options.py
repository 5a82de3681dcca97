"""Which shop a verb works on, and how it is opened."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from seamlight.shop import Shop, open_shop

HOME = "~/Seamlight"
FOLDER, DATABASE = "SEAMLIGHT_SHOP", "SEAMLIGHT_DATABASE"


def add_shop(parser: argparse.ArgumentParser) -> None:
    """`--shop`."""
    parser.add_argument(
        "--shop",
        metavar="DIR",
        type=Path,
        default=os.environ.get(FOLDER, HOME),
        help=f"the shop's folder (default: ${FOLDER}, else {HOME}); a shop whose rows are in PostgreSQL"
        f" needs the database's URL in ${DATABASE}",
    )


def database_url() -> str | None:
    """The PostgreSQL URL; from the environment only, where other people do not see it."""
    return os.environ.get(DATABASE) or None


def shop_of(args: argparse.Namespace, *, create: bool = False) -> Shop:
    """The shop that the options name, open."""
    return open_shop(args.shop.expanduser(), url=database_url(), create=create)
