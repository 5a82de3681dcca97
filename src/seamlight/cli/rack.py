"""`seamlight rack`: a whole stack at once."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from seamlight.cli.options import (
    Verbs,
    add_common,
    add_placing,
    add_reading,
    layout_settings,
    outline_of,
    read_settings,
    warn,
)
from seamlight.layout.rack import lay_out_rack, pictures_in
from seamlight.layout.rack_document import RackDocument
from seamlight.mistake import Mistake
from seamlight.sheets.contact import contact_sheet
from seamlight.sheets.table import rack_csv, rack_lines
from seamlight.whole_file import made_folder, whole_file


def add_verb(verbs: Verbs) -> None:
    """Add `rack`."""
    parser = verbs.add_parser("rack", help="a whole folder of photographs: pairs found, each laid out")
    parser.add_argument("folder", metavar="DIR", type=Path)
    parser.add_argument(
        "--outline", metavar="NAME|FILE", action="append", required=True, help="may be given several times"
    )
    parser.add_argument("--outline-units", choices=("mm", "cm", "inch"), help="for a file that does not say")
    parser.add_argument("--out", metavar="DIR", type=Path, help="write rack.csv and contact-sheet.pdf there")
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
    rack = lay_out_rack(
        paths,
        outlines,
        read,
        place,
        workers=args.workers,
        progress=show_progress,
    )
    document = RackDocument.of(rack)
    if args.out is not None:
        with whole_file(args.out / "rack.csv") as part:
            part.write_text(rack_csv(rack), encoding="utf-8")
        contact_sheet(
            rack, args.out / "contact-sheet.pdf", paper=args.paper, units=args.units, made_on=date.today()
        )
    if args.json:
        print(document.to_json())
        return
    print("\n".join(rack_lines(rack, units=args.units)))
    warn(document.warnings)
