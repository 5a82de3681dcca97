"""`seamlight tone`: does the two-tone swap with the light."""

from __future__ import annotations

import argparse
from pathlib import Path

from seamlight.cli.options import Verbs, add_common, warn
from seamlight.grain.tone import read_tone
from seamlight.grain.tone_document import ToneDocument
from seamlight.photo import open_picture


def add_verb(verbs: Verbs) -> None:
    """Add `tone`."""
    parser = verbs.add_parser("tone", help="two pictures lit from either end: runout or colour")
    parser.add_argument("photo_1", metavar="PHOTO_1", type=Path, help="the opened pair lit from end 1")
    parser.add_argument("photo_2", metavar="PHOTO_2", type=Path, help="the opened pair lit from end 2")
    add_common(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Compare the halves in both lights, print."""
    tone = read_tone(open_picture(args.photo_1), open_picture(args.photo_2))
    document = ToneDocument.of(tone)
    if args.json:
        print(document.to_json())
        return
    swaps = {True: "yes", False: "no", None: "can't tell"}[document.swaps]
    print(f"Two-tone swaps with the light: {swaps}")
    print(f"Cause: {document.cause}")
    lit = zip((1, 2), document.contrast_pct, strict=True)
    print("; ".join(f"lit from end {end}: {pct:+.1f} %" for end, pct in lit if pct is not None))
    for line in document.advice:
        print(f"- {line}")
    warn(document.warnings, args.units)
