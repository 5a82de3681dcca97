"""`seamlight restore`: a backup made a shop again."""

from __future__ import annotations

import argparse
from pathlib import Path

from seamlight.cli.check import in_words
from seamlight.cli.options import Verbs
from seamlight.cli.shop_options import DATABASE, database_url
from seamlight.shop.check import check
from seamlight.shop.restore import restore


def add_verb(verbs: Verbs) -> None:
    """Add `restore`."""
    parser = verbs.add_parser("restore", help="make a shop out of a backup")
    parser.add_argument("backup", metavar="IN.zip", type=Path, help="the backup")
    parser.add_argument(
        "--into",
        metavar="DIR",
        type=Path,
        required=True,
        help=f"the new shop's folder, empty or not there yet; with ${DATABASE} the rows go into that"
        " database, which must be empty",
    )
    parser.add_argument("--json", action="store_true", help="print the new shop's health and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Restore, check, print."""
    shop = restore(args.backup, args.into, url=database_url())
    try:
        document = check(shop)
    finally:
        shop.close()
    print(document.to_json() if args.json else f"{args.into}: restored\n{in_words(document)}")
