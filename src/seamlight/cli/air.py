"""`seamlight air`: the shop's air and what it does to wood."""

from __future__ import annotations

import argparse

from seamlight.cli.options import Verbs, add_common, length, warn
from seamlight.mistake import Mistake
from seamlight.timber.air import judge_air
from seamlight.timber.air_document import AirDocument
from seamlight.timber.glue import DEFAULT_GLUE, glue, glue_names
from seamlight.timber.movement import ring_to_face_of
from seamlight.units import show_length


def add_verb(verbs: Verbs) -> None:
    """Add `air`."""
    parser = verbs.add_parser("air", help="the shop's air: wood's moisture, movement, whether to glue")
    parser.add_argument("--temp", metavar="T", required=True, help="degrees Celsius, such as 21; or 70F")
    parser.add_argument("--rh", metavar="PCT", required=True, help="relative humidity, %%, such as 45")
    parser.add_argument("--to-rh", metavar="PCT", help="the relative humidity that it changes to")
    parser.add_argument(
        "--to-temp", metavar="T", help="the temperature that it changes to (default: the same)"
    )
    parser.add_argument("--width", metavar="LEN", help="a plate's width across the grain")
    parser.add_argument("--species", metavar="NAME", help="the wood (default Sitka spruce)")
    parser.add_argument(
        "--cut", metavar="CUT", default="quarter", help="quarter (default), flat, or degrees of ring to face"
    )
    parser.add_argument("--glue", choices=glue_names(), default=DEFAULT_GLUE, help="default %(default)s")
    add_common(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Judge the air, print."""
    air = judge_air(
        temperature_c(args.temp, "--temp"),
        percent(args.rh, "--rh"),
        to_rh_pct=None if args.to_rh is None else percent(args.to_rh, "--to-rh"),
        to_temp_c=None if args.to_temp is None else temperature_c(args.to_temp, "--to-temp"),
        width_mm=length(args, "width"),
        species_name=args.species,
        ring_to_face_deg=ring_to_face_of(args.cut),
        which=glue(args.glue),
    )
    document = AirDocument.of(air)
    if args.json:
        print(document.to_json())
        return
    print(f"Wood settles at {air.emc_pct:.1f} %")
    if air.to_emc_pct is not None:
        print(f"and then at {air.to_emc_pct:.1f} %")
    if air.movement_mm is not None:
        way = "narrower" if air.movement_mm < 0 else "wider"
        print(f"The plate gets {show_length(abs(air.movement_mm), args.units)} {way}")
    print("Glue may go on" if air.glue.ok else "No glue now")
    for line in air.glue.reasons:
        print(f"- {line}")
    warn(document.warnings)


def temperature_c(text: str, where: str) -> float:
    """Degrees Celsius of `21`, `21C` or `70F`.

    Raises:
        Mistake: it is no temperature.
    """
    plain = text.strip().lower().replace("°", "").replace(",", ".")
    fahrenheit = plain.endswith("f")
    try:
        degrees = float(plain.rstrip("cf"))
    except ValueError:
        raise Mistake(f"{text!r} is no temperature", where=where, do="write 21, 21C or 70F") from None
    # definition of the Fahrenheit scale
    return (degrees - 32) / 1.8 if fahrenheit else degrees


def percent(text: str, where: str) -> float:
    """A percentage of `45`, `45%` or `45,5`.

    Raises:
        Mistake: it is no number.
    """
    try:
        return float(text.strip().rstrip("%").replace(",", "."))
    except ValueError:
        raise Mistake(f"{text!r} is no percentage", where=where, do="write it like 45") from None
