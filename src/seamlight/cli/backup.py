"""`seamlight backup`: the whole shop as one zip."""

from __future__ import annotations

import argparse
from pathlib import Path

from seamlight.cli.options import Verbs, warn
from seamlight.cli.shop_options import add_shop, shop_of
from seamlight.shop.backup import backup


def add_verb(verbs: Verbs) -> None:
    """Add `backup`."""
    parser = verbs.add_parser("backup", help="the whole shop as one zip; nobody has to stop working")
    parser.add_argument("out", metavar="OUT.zip", type=Path, help="the zip to write")
    parser.add_argument("--json", action="store_true", help="print the zip's manifest and nothing else")
    add_shop(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Back up, print what went in."""
    shop = shop_of(args)
    try:
        manifest = backup(shop, args.out)
    finally:
        shop.close()
    if args.json:
        print(manifest.to_json())
        return
    size_mb = sum(member.size for member in manifest.members) / 1e6
    photos = sum(member.name.startswith("photos/") for member in manifest.members)
    print(f"{args.out}: the rows and {photos} files, {size_mb:.1f} MB (tables {manifest.tables})")
    warn(manifest.warnings)
