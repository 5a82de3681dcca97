"""`seamlight sheet labels`: labels for the shop's pairs and leaves."""

from __future__ import annotations

import argparse
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from seamlight.cli.options import Verbs, add_common
from seamlight.cli.shop_options import add_shop, shop_of
from seamlight.mistake import Mistake
from seamlight.sheets.label_sheet import LabelSheet, usual_sheet
from seamlight.sheets.labels import label_sheets
from seamlight.sheets.shop_labels import labels_of
from seamlight.shop.label_facts import pairs_named
from seamlight.units import parse_length, parse_size
from seamlight.web.serving import Serving


def add_kind(kinds: Verbs) -> None:
    """Add `labels` to the kinds of sheet."""
    parser = kinds.add_parser("labels", help="labels for pairs and leaves, with a code that opens the page")
    parser.add_argument(
        "pairs", metavar="PAIR", nargs="*", help="labels of pairs, such as T4; none: the whole rack"
    )
    parser.add_argument("--which", choices=("both", "pair", "leaves"), default="both")
    parser.add_argument("--out", metavar="FILE", type=Path, required=True, help="a PDF file")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="a usual sheet to start from")
    parser.add_argument("--page", metavar="WxH", help="the paper's own size")
    parser.add_argument("--label", metavar="WxH", help="one label")
    parser.add_argument("--margin", metavar="LEFTxTOP", help="from the paper's corner to the first label")
    parser.add_argument(
        "--pitch", metavar="AxD", help="from one label's edge to the next one's, across and down"
    )
    parser.add_argument("--count", metavar="AxD", help="labels across and down, such as 3x8")
    parser.add_argument("--first", metavar="N", type=int, default=1, help="the first free place (default 1)")
    parser.add_argument("--trial", action="store_true", help="draw the edges, to print on plain paper")
    parser.add_argument(
        "--address",
        metavar="URL",
        default=Serving().address,
        help="where the shop's pages are (default %(default)s)",
    )
    add_shop(parser)
    add_common(parser, json_too=False)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Write the labels."""
    if args.out.suffix.lower() != ".pdf":
        raise Mistake(
            "labels are written as PDF", where=f"--out {args.out}", do="name a file that ends in .pdf"
        )
    sheet = sheet_from(args)
    with closing(shop_of(args)) as shop, shop.read() as session:
        pairs = pairs_named(session, " ".join(args.pairs))
        labels = labels_of(session, pairs, args.address, args.which)
    sheets = label_sheets(labels, sheet, args.out, first=args.first, frames=args.trial)
    print(
        f"{args.out}: {len(labels)} labels on {sheets} {'sheet' if sheets == 1 else 'sheets'}; print at 100 %"
    )


def sheet_from(args: argparse.Namespace) -> LabelSheet:
    """The sheet of the options: a usual one with the measures that were given.

    Raises:
        Mistake: a measure that is none.
    """
    sheet = usual_sheet(args.paper)
    if args.page:
        sheet = replace(sheet, page_mm=_two(args, "page"))
    if args.label:
        sheet = replace(sheet, label_mm=_two(args, "label"))
    if args.margin:
        left, top = _margins(args)
        sheet = replace(sheet, left_mm=left, top_mm=top)
    if args.pitch:
        sheet = replace(sheet, pitch_mm=_two(args, "pitch"))
    if args.count:
        across, _, down = args.count.lower().partition("x")
        if not (across.strip().isdecimal() and down.strip().isdecimal()):
            raise Mistake(f"{args.count!r} is no count", where="--count", do="write it like 3x8")
        sheet = replace(sheet, across=int(across), down=int(down))
    return sheet.checked()


def _margins(args: argparse.Namespace) -> tuple[float, float]:
    """Two lengths, either of which may be 0."""
    left, _, top = args.margin.lower().partition("x")
    first, second = (parse_length(part, args.units, where="--margin") for part in (left, top))
    return first, second


def _two(args: argparse.Namespace, name: str) -> tuple[float, float]:
    typed: str = getattr(args, name)
    sizes = parse_size(typed, args.units, where=f"--{name}")
    if len(sizes) != 2:
        raise Mistake(f"{typed!r} is not two measures", where=f"--{name}", do="write it like 70x36")
    return sizes[0], sizes[1]
