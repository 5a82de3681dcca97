"""`seamlight deflect`: bending under a weight to stiffness."""

from __future__ import annotations

import argparse

from seamlight.cli.options import Verbs, length
from seamlight.cli.plate_options import add_day, add_targets, add_verb_common, day_of, show, with_targets
from seamlight.plate.deflected import deflected_plate
from seamlight.plate.piece import parse_piece
from seamlight.plate.static import Rig


def add_verb(verbs: Verbs) -> None:
    """Add `deflect`."""
    parser = add_verb_common(verbs, "deflect", "bending under a weight to stiffness")
    parser.add_argument("--size", metavar="LxWxT", required=True, help="along x across x thick: 550x200x3.2")
    parser.add_argument("--span", metavar="LEN", required=True, help="between the supports")
    parser.add_argument("--load", metavar="N", type=float, required=True, help="newtons; 1 kg is 9.81")
    parser.add_argument("--at", metavar="LEN", required=True, help="the load, from the nearer support")
    parser.add_argument("--read-at", choices=("middle", "load"), default="middle")
    parser.add_argument("--deflection", metavar="LEN", required=True, help="how far it bent")
    parser.add_argument("--weight", metavar="G", type=float, help="grams")
    parser.add_argument("--span-runs", choices=("along", "across"), default="along", help="the grain")
    parser.add_argument(
        "--held-flat", action="store_true", help="the weight or the supports keep the plate flat across"
    )
    add_day(parser)
    add_targets(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Work out the stiffness, print."""
    rig = Rig(
        span_mm=length(args, "span") or 0.0,
        load_n=args.load,
        at_mm=length(args, "at") or 0.0,
        read_at=args.read_at,
    )
    result = deflected_plate(
        parse_piece(args.size, args.weight),
        rig,
        length(args, "deflection") or 0.0,
        day_of(args),
        direction=args.span_runs,
        width="plate" if args.held_flat else "beam",
    )
    show(with_targets(result, args), args)
