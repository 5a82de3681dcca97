"""`seamlight check`: the shop's health."""

from __future__ import annotations

import argparse

from seamlight.cli.options import Verbs
from seamlight.cli.shop_options import add_shop, shop_of
from seamlight.mistake import Mistake
from seamlight.shop.check import CheckDocument, check


def add_verb(verbs: Verbs) -> None:
    """Add `check`."""
    parser = verbs.add_parser("check", help="the shop's health: is everything that was kept still there")
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    add_shop(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Check, print.

    Raises:
        Mistake: something grave was found; it is printed first.
    """
    shop = shop_of(args)
    try:
        document = check(shop)
    finally:
        shop.close()
    print(document.to_json() if args.json else in_words(document), flush=True)
    grave = sum(finding.grave for finding in document.findings)
    if grave:
        found = "1 thing that was kept is" if grave == 1 else f"{grave} things that were kept are"
        raise Mistake(
            f"{found} missing or wrong", where=str(args.shop), do="restore a backup beside it and compare"
        )


def in_words(document: CheckDocument) -> str:
    """The document for a person."""
    counts = document.counts
    looked = ", ".join(
        f"{counts[name]} {name.replace('_', ' ')}s" for name in ("pair", "reading") if name in counts
    )
    lines = [f"Looked at {looked} and {counts['files']} files (tables {document.tables})."]
    for finding in document.findings:
        lines.append(f"{'!' if finding.grave else '-'} {finding.kind}: {finding.where}: {finding.says}")
    lines.append("Sound: nothing that was kept is missing." if document.sound else "Not sound.")
    return "\n".join(lines)
