"""`seamlight read`: what one leaf says."""

from __future__ import annotations

import argparse
from pathlib import Path

from seamlight.cli.options import Verbs, add_common, add_reading, flaw_edits, read_settings, warn
from seamlight.grain.assemble import write_field
from seamlight.grain.document import ReadDocument
from seamlight.grain.endgrain import QUARTERED_FROM_DEG
from seamlight.grain.photograph import read_photograph
from seamlight.mistake import Mistake
from seamlight.sheets.picture_file import check_picture, save_picture
from seamlight.sheets.reading import reading_picture
from seamlight.sheets.table import reading_lines
from seamlight.whole_file import check_writable, whole_file


def add_verb(verbs: Verbs) -> None:
    """Add `read`."""
    parser = verbs.add_parser("read", help="what one leaf says: size, grain, rings, flaws")
    parser.add_argument("photo", metavar="PHOTO", type=Path)
    parser.add_argument("--end", metavar="PHOTO", type=Path, help="an end of the leaf, for the ring angle")
    parser.add_argument("--end-seen", type=int, choices=(1, 2), default=1, help="which end it is (default 1)")
    parser.add_argument(
        "--flaws", metavar="FILE", type=Path, help='edits: {"add": [], "drop": [], "replace": {}}'
    )
    parser.add_argument("--no-flaws", action="store_true", help="do not look for flaws (quicker)")
    parser.add_argument("--field", metavar="OUT.npz", type=Path, help="write the grain field as numpy arrays")
    parser.add_argument("--picture", metavar="OUT.png", type=Path, help="write a picture of the reading")
    parser.add_argument(
        "--quarter-from",
        metavar="DEG",
        type=float,
        default=QUARTERED_FROM_DEG,
        help="the ring-to-face angle from which wood counts as quarter-sawn; usages differ: 45, 60, 75"
        f" (default {QUARTERED_FROM_DEG:g})",
    )
    add_reading(parser)
    add_common(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Read, write what was asked for, print."""
    if not 0 < args.quarter_from <= 90:
        raise Mistake("is no ring-to-face angle", where="--quarter-from", do="give 1 to 90 degrees")
    if args.field is not None:
        check_writable(args.field, ".npz")
    if args.picture is not None:
        check_picture(args.picture)
    reading = read_photograph(
        args.photo,
        read_settings(args, flaws=not args.no_flaws),
        end=args.end,
        end_seen=args.end_seen,
        edits=flaw_edits(args.flaws),
    )
    document = ReadDocument.of(reading, args.quarter_from)
    if args.field is not None:
        with whole_file(args.field) as part:
            write_field(part, reading.field)
    if args.picture is not None:
        save_picture(args.picture, reading_picture(reading, units=args.units))
    if args.json:
        print(document.to_json())
        return
    print("\n".join(reading_lines(reading, units=args.units, quarter_from_deg=args.quarter_from)))
    warn(document.warnings, args.units)
