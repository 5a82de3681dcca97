"""`seamlight edge`: straightedge and feeler readings of a joint or an edge."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np

from seamlight.cli.options import Verbs, add_common, length, warn
from seamlight.mistake import Mistake
from seamlight.seam.bench import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.meaning import judge_readings
from seamlight.seam.profile import Profile
from seamlight.seam.readings import load_readings
from seamlight.timber.glue import DEFAULT_GLUE, glue_names


def add_verb(verbs: Verbs) -> None:
    """Add `edge`."""
    parser = verbs.add_parser(
        "edge", help="straightedge and feeler readings: what to take off, what clamps do"
    )
    parser.add_argument(
        "csv",
        metavar="CSV",
        type=Path,
        help="rows s_mm, gap_mm or s_mm, front_mm, back_mm, from the neck end",
    )
    parser.add_argument(
        "--of",
        choices=("joint", "one-edge", "folded"),
        required=True,
        help="what was read: the closed joint, one edge, or both edges folded together",
    )
    parser.add_argument("--length", metavar="L", help="the joint's length (default: to the last place read)")
    add_bench(parser)
    add_common(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Judge the readings, print."""
    bench = bench_of(args)
    readings = load_readings(args.csv)
    meaning = judge_readings(readings, bench, of=args.of, length_mm=length(args, "length"))
    show(SeamDocument.of_meaning(meaning, bench), args)


def add_bench(parser: argparse.ArgumentParser) -> None:
    """The options that `seam` and `edge` share."""
    parser.add_argument("--thickness", metavar="T", help="of the leaves (default 4 mm)")
    parser.add_argument("--width", metavar="W", help="of one leaf (default 200 mm)")
    parser.add_argument("--species", metavar="NAME", help="the wood (default: a middling softwood)")
    parser.add_argument("--glue", choices=glue_names(), default=DEFAULT_GLUE, help="default %(default)s")
    parser.add_argument(
        "--room", metavar="LEN", help="how much more may come off each edge (the layout's joint_room_mm)"
    )
    parser.add_argument(
        "--before",
        metavar="JSON",
        type=Path,
        action="append",
        default=[],
        help="an earlier reading of this joint, as --json printed it; may be given again, oldest first",
    )


def bench_of(args: argparse.Namespace) -> Bench:
    """The shared options as values.

    Raises:
        Mistake: an option that no bench has.
    """
    thickness, width = length(args, "thickness"), length(args, "width")
    return Bench(
        width_mm=200.0 if width is None else width,
        thickness_mm=4.0 if thickness is None else thickness,
        species_name=args.species,
        glue_name=args.glue,
        room_mm=length(args, "room"),
        before=tuple(_earlier(path) for path in args.before),
        unit=args.units,
    )


def _earlier(path: Path) -> Profile:
    """The fit gap of an earlier document."""
    try:
        document = SeamDocument.model_validate(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        raise Mistake("no such file", where=str(path), do="check the name") from None
    except (ValueError, OSError):
        raise Mistake("is no reading of a joint", where=str(path), do="give what --json printed") from None
    if document.fit_gap_mm is None or document.error_mm is None:
        raise Mistake("that reading knew no gap", where=str(path), do="leave it out")
    return Profile(np.array(document.s_mm), np.array(document.fit_gap_mm), document.error_mm)


def show(document: SeamDocument, args: argparse.Namespace) -> None:
    """Print a document as JSON or in words."""
    if args.json:
        print(document.to_json())
        return
    print(f"Verdict: {document.verdict}")
    for line in document.advice:
        print(f"- {line}")
    warn(document.warnings)
