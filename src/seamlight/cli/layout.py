"""`seamlight layout`: how to open a pair and where the outline goes."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from seamlight.cli.options import (
    Verbs,
    add_common,
    add_layout,
    flaw_edits,
    layout_settings,
    outline_of,
    pair_photographs,
    read_settings,
    warn,
)
from seamlight.grain.reading import Reading
from seamlight.layout.document import LayoutDocument
from seamlight.layout.opening import Layout
from seamlight.layout.photographs import PairReading, lay_out_pair, read_pair
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.marking import marking_sheet
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.picture_file import check_picture, save_picture
from seamlight.sheets.table import DETAILED, layout_lines
from seamlight.whole_file import check_writable


def add_verb(verbs: Verbs) -> None:
    """Add `layout`."""
    parser = verbs.add_parser("layout", help="how to open a pair and where the outline goes")
    add_layout(parser)
    parser.add_argument("--opening", metavar="N", type=int, default=1, help="which opening --sheet shows")
    parser.add_argument("--picture", metavar="OUT.png", type=Path, help="all openings side by side")
    parser.add_argument("--sheet", metavar="OUT.pdf", type=Path, help="the marking sheet of one opening")
    parser.add_argument("--paper", choices=("a4", "letter", "a3"), default="a4")
    parser.add_argument(
        "--details", action="store_true", help=f"tell of every opening what is told of the best {DETAILED}"
    )
    add_common(parser)
    parser.set_defaults(run=run)


def laid_out(args: argparse.Namespace) -> tuple[PairReading, Layout]:
    """Read the pair that the arguments name and lay it out."""
    outline = outline_of(args.outline, args)
    settings = layout_settings(args)
    pair = read_pair(pair_photographs(args), read_settings(args), edits=flaw_edits(args.flaws))
    return pair, lay_out_pair(pair, outline, settings)


def check_opening(number: int, layout: Layout) -> None:
    """Raise unless there is an opening of that number, before anything is written.

    Raises:
        Mistake: there is none.
    """
    if not 1 <= number <= len(layout.openings):
        raise Mistake(
            f"there is no opening {number}",
            where="--opening",
            do=f"give a number from 1 to {len(layout.openings)}",
        )


def write_sheet(args: argparse.Namespace, pair: PairReading, layout: Layout, path: Path) -> None:
    """The marking sheet of the opening that was asked for."""
    check_opening(args.opening, layout)
    flat_a, flat_b, other_a, other_b = flats_of(pair)
    marking_sheet(
        layout,
        args.opening - 1,
        flat_a,
        flat_b,
        path,
        paper=args.paper,
        units=args.units,
        label=args.photo_a.stem,
        made_on=date.today(),
        other_a=other_a,
        other_b=other_b,
    )


def flats_of(pair: PairReading) -> tuple[FlatLeaf, FlatLeaf | None, FlatLeaf | None, FlatLeaf | None]:
    """The pair's flat pictures: A, B, and their other faces."""

    def flat(reading: Reading | None) -> FlatLeaf | None:
        return reading.flat if reading is not None else None

    return pair.a.flat, flat(pair.b), flat(pair.other_a), flat(pair.other_b)


def run(args: argparse.Namespace) -> None:
    """Lay out, write what was asked for, print."""
    if args.picture is not None:
        check_picture(args.picture)
    if args.sheet is not None:
        check_writable(args.sheet, ".pdf")
    pair, layout = laid_out(args)
    check_opening(args.opening, layout)
    document = LayoutDocument.of(layout, pair.a, pair.b)
    if args.picture is not None:
        flat_a, flat_b, other_a, other_b = flats_of(pair)
        picture = openings_picture(layout, flat_a, flat_b, units=args.units, other_a=other_a, other_b=other_b)
        save_picture(args.picture, picture)
    if args.sheet is not None:
        write_sheet(args, pair, layout, args.sheet)
    if args.json:
        print(document.to_json())
        return
    print("\n".join(layout_lines(layout, units=args.units, detailed=None if args.details else DETAILED)))
    warn(document.warnings, args.units)
