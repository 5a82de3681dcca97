"""`seamlight rack`: a whole stack at once."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import Any

from seamlight.cli.options import (
    Verbs,
    add_common,
    add_placing,
    add_reading,
    layout_settings,
    length,
    outline_of,
    read_settings,
    warn,
)
from seamlight.cli.shop_options import database_url
from seamlight.layout.rack import KEPT_PX_PER_MM, lay_out_rack, pictures_in
from seamlight.layout.rack_document import RackDocument
from seamlight.mistake import Mistake
from seamlight.sheets.contact import contact_sheet
from seamlight.sheets.rack_picture import keep_rack_picture
from seamlight.sheets.table import rack_csv, rack_lines
from seamlight.shop import open_shop
from seamlight.shop.filing import FILED_PX_PER_MM, file_rack
from seamlight.shop.species_facts import species_facts
from seamlight.whole_file import check_writable, made_folder, whole_file

RACK_CSV, CONTACT_SHEET = "rack.csv", "contact-sheet.pdf"


def add_verb(verbs: Verbs) -> None:
    """Add `rack`."""
    parser = verbs.add_parser("rack", help="a whole folder of photographs: pairs found, each laid out")
    parser.add_argument("folder", metavar="DIR", type=Path)
    parser.add_argument(
        "--outline", metavar="NAME|FILE", action="append", required=True, help="may be given several times"
    )
    parser.add_argument("--outline-units", choices=("mm", "cm", "inch"), help="for a file that does not say")
    parser.add_argument("--out", metavar="DIR", type=Path, help="write rack.csv and contact-sheet.pdf there")
    parser.add_argument("--shop", metavar="DIR", type=Path, help="file the pairs in this shop")
    parser.add_argument("--species", metavar="NAME", help="with --shop: of all these pairs")
    parser.add_argument("--supplier", metavar="WHO", help="with --shop: of all these pairs")
    parser.add_argument("--lies-at", metavar="WHERE", help="with --shop: where they lie")
    parser.add_argument("--workers", metavar="N", type=int, help="processes (default: one a core)")
    parser.add_argument("--paper", choices=("a4", "letter", "a3"), default="a4")
    parser.add_argument("--no-flaws", action="store_true", help="do not look for flaws (quicker)")
    add_placing(parser)
    add_reading(parser)
    add_common(parser)
    parser.set_defaults(run=run)


def show_progress(what: str, done: int, of: int) -> None:
    """One line on stderr, written over on a terminal."""
    end = "\r" if sys.stderr.isatty() and done < of else "\n"
    print(f"{what}: {done} of {of}", end=end, file=sys.stderr, flush=True)


def run(args: argparse.Namespace) -> None:
    """Read and lay out the folder, write what was asked for, print."""
    if args.workers is not None and args.workers < 1:
        raise Mistake("is below 1", where="--workers", do="give 1 or more")
    paths = pictures_in(args.folder)
    outlines = [outline_of(text, args) for text in args.outline]
    read, place = read_settings(args, flaws=not args.no_flaws), layout_settings(args)
    if args.out is not None:
        made_folder(args.out, "--out")
        for name in (RACK_CSV, CONTACT_SHEET):
            check_writable(args.out / name)
    shop = open_shop(args.shop, url=database_url()) if args.shop is not None else None
    rack = lay_out_rack(
        paths,
        outlines,
        read,
        place,
        workers=args.workers,
        px_per_mm=FILED_PX_PER_MM if shop is not None else KEPT_PX_PER_MM,
        progress=show_progress,
    )
    document = RackDocument.of(rack)
    if args.out is not None:
        with whole_file(args.out / RACK_CSV) as part:
            part.write_text(rack_csv(rack), encoding="utf-8")
        contact_sheet(
            rack, args.out / CONTACT_SHEET, paper=args.paper, units=args.units, made_on=date.today()
        )
    if shop is not None:
        filed = file_rack(shop, "command line", rack, _facts(args))
        for pair, found in zip(filed, rack.pairs, strict=True):
            keep_rack_picture(shop, pair.id, found.pair, found.layouts)
        print(f"filed: {', '.join(pair.label for pair in filed) or 'no pair'}", file=sys.stderr)
        shop.close()
    if args.json:
        print(document.to_json())
        return
    print("\n".join(rack_lines(rack, units=args.units)))
    warn(document.warnings, args.units)


def _facts(args: argparse.Namespace) -> dict[str, Any]:
    """What is said of all pairs that are filed."""
    return {
        "kind": args.use,
        **species_facts(args.species or "", ""),
        "supplier": args.supplier,
        "lies_at": args.lies_at,
        "scale_spec": args.scale,
        "thickness_mm": length(args, "thickness"),
    }
