"""`seamlight demo`: an invented shop's wood, read and laid out before your eyes."""

from __future__ import annotations

import argparse
import shlex
import sys
import time
from datetime import date
from pathlib import Path

from seamlight.cli.options import Verbs
from seamlight.demo.fill import fill_shop
from seamlight.demo.walk import Walked, walk
from seamlight.layout.rack import Rack
from seamlight.mistake import Mistake
from seamlight.sheets.contact import contact_sheet
from seamlight.sheets.table import rack_csv, rack_lines
from seamlight.sheets.target import sheet_target
from seamlight.sheets.words import verdict_sentence
from seamlight.shop import Shop, open_shop
from seamlight.shop.shop import DATABASE
from seamlight.whole_file import made_folder, whole_file


def add_verb(verbs: Verbs) -> None:
    """Add `demo`."""
    parser = verbs.add_parser("demo", help="an invented shop's wood, read and laid out")
    parser.add_argument(
        "--into",
        metavar="DIR",
        type=Path,
        default=Path("seamlight-demo"),
        help="a folder for it (default seamlight-demo)",
    )
    parser.add_argument("--no-serve", action="store_true", help="end when everything is written")
    parser.add_argument("--port", type=int, help="where its pages are served; 0 for any that is free")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Walk through the rack, say each pair as it is done, print the table and where things are."""
    into = made_folder(args.into, "--into")
    if (into / "shop").exists():
        raise Mistake("holds a demo already", where=f"--into {into}", do=_open_or_elsewhere(into / "shop"))
    print("A workshop in a harbour town: five students build parlour guitars, and a jumbo is on order.")
    print(
        "Its wood is invented: grown and sawn by a model, photographed by a model of a phone.\n", flush=True
    )
    start = time.monotonic()
    done: list[Walked] = []
    for walked in walk(into, made_on=date.today()):
        done.append(walked)
        print(f"{said(walked)}\n", flush=True)
    rack = rack_of(done)
    with whole_file(into / "rack.csv") as part:
        part.write_text(rack_csv(rack), encoding="utf-8")
    contact_sheet(rack, into / "contact-sheet.pdf", made_on=date.today())
    sheet_target(into / "target.pdf")
    print("\n".join(rack_lines(rack, units="mm")))
    print(f"""
In {into}:
  pictures/*-openings.png   all openings of a pair, side by side
  pictures/*-reading.png    what one leaf says
  sheets/*-marking.pdf      the measures to set out the best opening with rule and square
  contact-sheet.pdf         the whole rack; rack.csv has its figures
  target.pdf                the sheet to print and lay beside your own wood
  photographs/              what was read
  shop/                     the same wood as a shop; its pages open next""")
    shop = open_shop(into / "shop", create=True)
    try:
        fill_shop(shop, done)
        print(f"done in {time.monotonic() - start:.0f} s", file=sys.stderr)
        if not args.no_serve:
            open_pages(shop, args.port)
    finally:
        shop.close()


def _open_or_elsewhere(shop: Path) -> str:
    """What to do where a demo lies already: its pages may be all that is wanted."""
    elsewhere = "name another folder, or move it away"
    there = (shop / DATABASE).is_file()
    return (
        f"open its pages with: seamlight serve --shop {shlex.quote(str(shop))}; or {elsewhere}"
        if there
        else elsewhere
    )


def open_pages(shop: Shop, port: int | None) -> None:
    """Serve the invented shop until stopped; at a free port where the usual one is taken."""
    from seamlight.web.serve import PORT, open_door, serve
    from seamlight.web.work import working

    try:
        door = open_door(port=PORT if port is None else port)
    except Mistake:
        if port is not None:
            raise
        door = open_door(port=0)
    serve(
        shop,
        door,
        beside=(working,),
        ready=lambda: print(f"\nIts pages are open at {door.here}/ (Ctrl-C closes them)", flush=True),
    )


def said(walked: Walked) -> str:
    """What a maker is told about one pair."""
    pair = walked.pair
    head = f"{pair.name}: {pair.use} for a {pair.outline}, {pair.ordered_by}. {pair.story}"
    if walked.laid_out is None:
        return f"{head}\n  One leaf alone: read, not laid out. {walked.pictures[0]}"
    best = walked.laid_out.layouts[0].openings[0]
    return f"{head}\n  {verdict_sentence(best, 'mm')} {walked.pictures[-1]}"


def rack_of(done: list[Walked]) -> Rack:
    """The walked pairs as a rack, by name."""
    ordered = sorted(done, key=lambda walked: walked.pair.name)
    return Rack(
        pairs=tuple(w.laid_out for w in ordered if w.laid_out is not None),
        alone=tuple(w.photographs[0] for w in ordered if w.laid_out is None),
        failed=(),
    )
