"""Options that `tap` and `deflect` share, and how a result is printed."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path

from seamlight.cli.air import percent, temperature_c
from seamlight.cli.options import OUTLINE_HELP, Verbs, add_common, length, outline_of, warn
from seamlight.mistake import Mistake
from seamlight.plate.compare import compared
from seamlight.plate.document import TapDocument
from seamlight.plate.result import PlateResult
from seamlight.plate.static import Rig
from seamlight.plate.stiffness import Elastic
from seamlight.plate.tapped import Circumstances
from seamlight.plate.targets import average_reference, board_beside, rule_named, targets_of
from seamlight.plate.thickness import RULES, Reference, checked_thickness_mm
from seamlight.units import show_length

Parser = argparse.ArgumentParser

CAUTION = (
    "Thicknessing: mind dust, hearing and eyes; no leaf shorter or thinner than the machine's least; hands"
    " clear. The machine's own manual and local rules come first."
)


def add_day(parser: Parser) -> None:
    """The wood and the day."""
    parser.add_argument("--temp", metavar="T", help="degrees Celsius, such as 21; or 70F")
    parser.add_argument("--rh", metavar="PCT", help="relative humidity, %%, such as 45")
    parser.add_argument("--standard-mc", metavar="PCT", default="8.5", help="moisture to correct to (8.5)")
    parser.add_argument("--species", metavar="NAME", help="the wood, such as Sitka spruce")
    parser.add_argument(
        "--beside", metavar="FILE", type=Path, help="the --json of another way on the same piece, to compare"
    )
    parser.add_argument("--runout", metavar="DEG", type=float, help="slope of the fibre to the face")
    parser.add_argument("--rings", metavar="DEG", type=float, help="ring to face, 90 quartered")


def add_targets(parser: Parser) -> None:
    """Which thickness is wanted, and by what."""
    parser.add_argument("--target", metavar="RULE", help=f"{', '.join(RULES)} (default: all that can be had)")
    parser.add_argument("--like", metavar="FILE", type=Path, help="the --json of a plate you liked")
    parser.add_argument("--like-thickness", metavar="T", help="its finished thickness (default: as tapped)")
    parser.add_argument("--outline", metavar="NAME|FILE", help=f"for weight and frequency: {OUTLINE_HELP}")
    parser.add_argument("--outline-units", choices=("mm", "cm", "inch"), help="for a file that does not say")
    parser.add_argument("--for", dest="use", choices=("top", "back"), default="top")
    parser.add_argument(
        "--want-deflection",
        metavar="SPANxATxN=LEN",
        help="for the rule of deflection: span, place of the load, newtons, deflection: 457x152x22.2=7.1",
    )


def add_verb_common(verbs: Verbs, name: str, words: str) -> Parser:
    """A verb with `--json` and `--units`."""
    parser: Parser = verbs.add_parser(name, help=words)
    add_common(parser)
    return parser


def day_of(args: argparse.Namespace) -> Circumstances:
    """The wood and the day as values."""
    if (args.temp is None) != (args.rh is None):
        raise Mistake("temperature and humidity go together", where="--temp and --rh", do="give both")
    return Circumstances(
        species=args.species,
        temp_c=None if args.temp is None else temperature_c(args.temp, "--temp"),
        rh_pct=None if args.rh is None else percent(args.rh, "--rh"),
        standard_mc_pct=percent(args.standard_mc, "--standard-mc"),
        runout_deg=args.runout,
        ring_to_face_deg=args.rings,
    )


def with_targets(result: PlateResult, args: argparse.Namespace) -> PlateResult:
    """The result with the thicknesses that the rules ask for."""
    if result.kind == "bar":
        if args.target:
            raise Mistake(
                "a bar has no thickness rule", where="--target", do="see the brace's height instead"
            )
        return result
    if result.e_along_mpa is None or not result.density_kg_m3:
        if args.target:
            raise Mistake(
                "a thickness needs E along and the density",
                where="--target",
                do="span along; give the weight",
            )
        return result
    told = args.like is not None
    reference = _liked(args) if told else average_reference(args.species)
    rig, wanted = _wanted(args)
    outline = outline_of(args.outline, args) if args.outline else None
    board, word = board_beside(result, reference, args.species)
    targets = targets_of(
        board,
        reference,
        rule_named(args.target) if args.target else None,
        outline=outline,
        area_mm2=result.piece.length_mm * result.piece.width_mm,
        rig=rig,
        rig_width_mm=result.piece.width_mm,
        wanted_deflection_mm=wanted,
    )
    notes = [word] if word else []
    if not told:
        notes.append(f"no plate you liked was given (--like): compared with {reference.label}")
    if outline is None:
        notes.append("weights are of the piece as it is: give --outline for the finished plate's")
    return replace(result, targets=targets, notes=(*result.notes, *notes, CAUTION))


def _document(path: Path) -> TapDocument:
    """A document that `tap` or `deflect` wrote with --json."""
    try:
        return TapDocument.model_validate(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        raise Mistake("no such file", where=str(path), do="check the name") from None
    except (ValueError, OSError):
        raise Mistake(
            "is no document of tap or deflect", where=str(path), do="save one with --json"
        ) from None


def _liked(args: argparse.Namespace) -> Reference:
    """The plate you liked, from its document."""
    where, document = str(args.like), _document(args.like)
    if document.e_along_mpa is None or document.density_kg_m3 is None:
        raise Mistake("holds no E along or no density", where=where, do="tap that plate again")
    thick = length(args, "like_thickness") or document.size.thickness_mm
    at = document.moisture
    along = at.e_along_mpa if at and at.e_along_mpa else document.e_along_mpa
    across = at.e_across_mpa if at and at.e_across_mpa else document.e_across_mpa
    g = at.g_mpa if at and at.g_mpa else document.g_mpa
    typical = average_reference(args.species).elastic
    return Reference(
        args.like.stem,
        Elastic(
            along,
            across or along * typical.e_across_mpa / typical.e_along_mpa,
            g or along * typical.g_mpa / typical.e_along_mpa,
            document.nu_along,
        ),
        document.density_kg_m3,
        checked_thickness_mm(thick, where="--like-thickness", low=1.0, high=12.0),
        moisture_pct=at.standard_pct if at else None,
    )


def _wanted(args: argparse.Namespace) -> tuple[Rig | None, float | None]:
    """The shop's rig and the deflection wanted on it."""
    if args.want_deflection is None:
        return None, None
    try:
        rig, wanted = args.want_deflection.split("=")
        span, at, newtons = (float(part) for part in rig.lower().split("x"))
        return Rig(span, newtons, at), float(wanted)
    except ValueError:
        raise Mistake(
            f"{args.want_deflection!r} is no rig",
            where="--want-deflection",
            do="write it like 457x152x22.2=7.1",
        ) from None


def show(result: PlateResult, args: argparse.Namespace) -> None:
    """Print a result as a document or in words."""
    if args.beside:
        lines = compared(TapDocument.of(result), _document(args.beside))
        result = replace(result, notes=(*result.notes, *lines))
    document = TapDocument.of(result)
    if args.json:
        print(document.to_json())
        return
    for peak in document.peaks:
        quality = f", Q {peak.q:.0f}" if peak.q is not None else ""
        named = peak.mode if peak.kind == "wood" else peak.kind
        print(f"{peak.hz:8.1f} Hz {peak.level_db:+6.1f} dB{quality}  {named}")
    rows = (
        ("E along", document.e_along_mpa, document.spread_pct.e_along),
        ("E across", document.e_across_mpa, document.spread_pct.e_across),
        ("G", document.g_mpa, document.spread_pct.g),
    )
    for name, value, spread in rows:
        if value is not None:
            doubt = f" ± {spread:.1f} %" if spread is not None else ""
            print(f"{name}: {value / 1000:.2f} GPa{doubt}")
    at = document.moisture
    if at is not None and abs(at.standard_pct - at.moisture_pct) > 0.05:
        moved = (("E along", at.e_along_mpa), ("E across", at.e_across_mpa), ("G", at.g_mpa))
        words = ", ".join(f"{name} {value / 1000:.2f} GPa" for name, value in moved if value)
        print(f"At {at.standard_pct:.1f} % moisture (today {at.moisture_pct:.1f} %): {words}")
    if document.density_kg_m3 is not None:
        print(f"Density: {document.density_kg_m3:.0f} kg/m3")
    if document.radiation_coefficient is not None:
        print(f"Radiation coefficient: {document.radiation_coefficient:.1f} m4/(kg s)")
    for name, value in (("along", document.loss_along), ("across", document.loss_across)):
        if value is not None:
            print(f"Loss {name}: {value:.4f}")
    for target in document.targets:
        weight = f", {target.weight_g:.0f} g" if target.weight_g is not None else ""
        print(
            f"{target.rule}: {show_length(target.thickness_mm, args.units, 2)} ±"
            f" {show_length(target.tolerance_mm, args.units, 2)}{weight}; off each face"
            f" {show_length(target.off_each_face_mm, args.units, 2)}; {target.why} ({target.source})"
        )
        for line in target.how:
            print(f"  - {line}")
    for line in document.notes:
        print(f"- {line}")
    warn(document.warnings)
