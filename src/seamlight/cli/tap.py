"""`seamlight tap`: sound to stiffness, stiffness to thickness."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Literal

from seamlight.cli.options import Verbs
from seamlight.cli.plate_options import add_day, add_targets, add_verb_common, day_of, show, with_targets
from seamlight.mistake import Mistake
from seamlight.plate.named import NAMES, Name
from seamlight.plate.peaks import Place
from seamlight.plate.piece import parse_piece
from seamlight.plate.tapped import tapped_bar, tapped_plate
from seamlight.plate.taps import read_taps


def add_verb(verbs: Verbs) -> None:
    """Add `tap`."""
    parser = add_verb_common(verbs, "tap", "sound to stiffness, stiffness to thickness")
    parser.add_argument("files", metavar="FILE", type=Path, nargs="+", help="WAV, FLAC, M4A, MP3 or OGG")
    parser.add_argument(
        "--size",
        metavar="LxWxT",
        required=True,
        help="along x across x thick: 550x200x3.6; tapered: 550x200:185x3.6",
    )
    parser.add_argument("--weight", metavar="G", type=float, required=True, help="grams")
    parser.add_argument("--as", dest="kind", choices=("plate", "bar"), default="plate")
    parser.add_argument(
        "--mode",
        metavar="NAME=HZ",
        action="append",
        default=[],
        help="which peak is which, as you have it: along=62.4; twist, along or across; for a bar along",
    )
    for option, words in (("--tapped", "where the plate was tapped"), ("--held", "where it was held")):
        parser.add_argument(
            option,
            metavar="ALONG,ACROSS",
            action="append",
            default=[],
            help=f"{words}, in parts of its length and width, once a file: 0.5,0.97",
        )
    add_day(parser)
    add_targets(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Read the taps, work out the stiffness, print."""
    piece, day, said = parse_piece(args.size, args.weight, args.kind), day_of(args), _said(args.mode)
    places = _places(args)
    reading = read_taps(args.files, places=places)
    if args.kind == "bar":
        result = tapped_bar(reading, piece, day, first_hz=said.get("along"))
    else:
        result = tapped_plate(reading, piece, day, said=said)
    show(with_targets(result, args), args)


def _places(args: argparse.Namespace) -> tuple[Place, ...]:
    """Where each file's taps or fingers were; none where nothing was said."""
    what: Literal["tapped", "held"] = "held" if args.held else "tapped"
    typed = args.held or args.tapped
    if args.held and args.tapped:
        raise Mistake("give one of the two", where="--tapped and --held", do="change one place at a time")
    if typed and len(typed) != len(args.files):
        raise Mistake(
            f"{len(typed)} places for {len(args.files)} recordings", where=f"--{what}", do="give one a file"
        )
    return tuple(_place(text, what) for text in typed)


def _place(text: str, what: Literal["tapped", "held"]) -> Place:
    try:
        along, across = (float(part) for part in text.split(","))
    except ValueError:
        along = across = -1.0
    if not (0 <= along <= 1 and 0 <= across <= 1):
        raise Mistake(f"{text!r} is no place", where=f"--{what}", do="write parts of 1 like 0.5,0.97")
    return Place(along, across, what)


def _said(typed: list[str]) -> dict[Name, float]:
    """Modes as the person has them."""
    said: dict[Name, float] = {}
    for text in typed:
        name, _, hz = text.partition("=")
        known = next((one for one in NAMES if one == name.strip().lower()), None)
        try:
            value = float(hz)
        except ValueError:
            value = 0.0
        if known is None or not value > 0:
            raise Mistake(f"{text!r} names no mode", where="--mode", do="write it like along=62.4")
        said[known] = value
    return said
