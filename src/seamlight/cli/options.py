"""Options that several verbs share, and how they are read."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Literal, cast

from seamlight.grain.photograph import ReadSettings
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.photographs import PairPhotographs
from seamlight.mistake import Mistake
from seamlight.outline import SUFFIXES, load, named, names
from seamlight.outline.shape import Outline
from seamlight.photo import parse_scale
from seamlight.units import Unit, parse_length, said_in

Verbs = Any  # argparse's sub-parsers action has no public type

OUTLINE_HELP = f"{', '.join(names())}; or a file of your own: .dxf, .svg, or measures in .json"


def add_common(parser: argparse.ArgumentParser, *, json_too: bool = True) -> None:
    """`--json` and `--units`."""
    if json_too:
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    parser.add_argument(
        "--units",
        choices=("mm", "inch"),
        default="mm",
        help="what lengths are shown in (default mm); a bare number typed is always mm",
    )


def add_reading(parser: argparse.ArgumentParser) -> None:
    """How a photograph gets its scale."""
    parser.add_argument(
        "--scale",
        metavar="SPEC",
        default="tags",
        help="tags (default: printed target sheets in the picture); tags=145.5 (what the sheet's 150 mm bar"
        " measures in print); 4px/mm; 600dpi; size=560x215 (length x width of the leaf);"
        " size=560x215x185 (length x width at end 1 x width at end 2)",
    )
    parser.add_argument(
        "--thickness", metavar="T", help="the leaf's thickness: lifts its face off the target"
    )
    parser.add_argument(
        "--turn",
        type=int,
        choices=(0, 1, 2, 3),
        help="quarter turns clockwise for the picture (default: so that the grain runs down it)",
    )


def add_layout(parser: argparse.ArgumentParser) -> None:
    """What to lay out, and how."""
    parser.add_argument("photo_a", metavar="PHOTO_A", type=Path, help="leaf A's sawn face, or an opened pair")
    parser.add_argument("photo_b", metavar="PHOTO_B", type=Path, nargs="?", help="leaf B's sawn face")
    parser.add_argument(
        "--outline",
        metavar="NAME|FILE",
        required=True,
        help=OUTLINE_HELP,
    )
    parser.add_argument("--outline-units", choices=("mm", "cm", "inch"), help="for a file that does not say")
    parser.add_argument("--other-a", metavar="PHOTO", type=Path, help="leaf A's other face")
    parser.add_argument("--other-b", metavar="PHOTO", type=Path, help="leaf B's other face")
    parser.add_argument("--end-a", metavar="PHOTO", type=Path, help="end 1 of leaf A")
    parser.add_argument("--end-b", metavar="PHOTO", type=Path, help="end 1 of leaf B")
    parser.add_argument("--flaws", metavar="FILE", type=Path, help='flaw edits: {"a": {...}, "b": {...}}')
    add_placing(parser)
    add_reading(parser)


def add_placing(parser: argparse.ArgumentParser) -> None:
    """The shop's wishes for the joint and the outline."""
    parser.add_argument("--for", dest="use", choices=("top", "back"), default="top")
    parser.add_argument("--match", choices=("book", "slip"), default="book")
    parser.add_argument("--trim", metavar="LEN", default="3mm", help="wood wanted beyond the outline across")
    parser.add_argument("--end-trim", metavar="LEN", default="6mm", help="and beyond its two ends")
    parser.add_argument("--joint", metavar="LEN", default="1mm", help="the least taken off each joint edge")
    parser.add_argument(
        "--most-slide", metavar="LEN", default="6mm", help="how far leaf B may be slid along the seam"
    )
    parser.add_argument("--wedge-angle", metavar="DEG", type=float, help="the angle of a rig's wedges")


def read_settings(args: argparse.Namespace, *, flaws: bool = True) -> ReadSettings:
    """The reading options as values."""
    return ReadSettings(
        scale=parse_scale(args.scale),
        thickness_mm=length(args, "thickness"),
        turn=args.turn,
        flaws=flaws,
    )


def layout_settings(args: argparse.Namespace) -> LayoutSettings:
    """The layout options as values."""
    return LayoutSettings(
        use=args.use,
        match=args.match,
        trim_mm=_not_negative(args, "trim"),
        end_trim_mm=_not_negative(args, "end_trim"),
        joint_mm=_not_negative(args, "joint"),
        most_slide_mm=_not_negative(args, "most_slide"),
        wedge_angle_deg=_wedge_angle(args.wedge_angle),
    )


def pair_photographs(args: argparse.Namespace) -> PairPhotographs:
    """The photographs named on the command line."""
    return PairPhotographs(
        a=args.photo_a,
        b=args.photo_b,
        other_a=args.other_a,
        other_b=args.other_b,
        end_a=args.end_a,
        end_b=args.end_b,
    )


def outline_of(text: str, args: argparse.Namespace) -> Outline:
    """A generic size by its name, or the maker's own file, as a top's."""
    path = Path(text)
    if path.suffix.lower() in SUFFIXES:
        unit = cast(Literal["mm", "cm", "inch"] | None, args.outline_units)
        return load(path, unit=unit)
    return named(text)


def length(args: argparse.Namespace, name: str) -> float | None:
    """A length option in mm, or None where it was not given."""
    text = getattr(args, name)
    if text is None:
        return None
    try:
        return parse_length(text)
    except Mistake as mistake:
        raise Mistake(mistake.what, where=f"--{name.replace('_', '-')} {text}", do=mistake.do) from mistake


def _not_negative(args: argparse.Namespace, name: str) -> float:
    value = length(args, name)
    if value is None or value < 0:
        raise Mistake("is below 0", where=f"--{name.replace('_', '-')}", do="give a length of 0 or more")
    return value


def _wedge_angle(angle_deg: float | None) -> float | None:
    """Wedges hold by friction, so they are slim: under 45 degrees (common practice, no source)."""
    if angle_deg is not None and not 0 < angle_deg < 45:
        raise Mistake(
            f"{angle_deg:g} degrees is no wedge", where="--wedge-angle", do="give degrees, such as 5"
        )
    return angle_deg


def flaw_edits(path: Path | None) -> Mapping[str, Any] | None:
    """A person's flaw edits from their JSON file."""
    if path is None:
        return None
    try:
        edits = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise Mistake("no such file", where=str(path), do="check the name") from error
    except (ValueError, OSError) as error:
        raise Mistake(f"is no JSON file ({error})", where=str(path), do="mend it") from error
    if not isinstance(edits, dict):
        raise Mistake("should hold one object", where=str(path), do='such as {"add": [], "drop": []}')
    return edits


def warn(lines: Iterable[str], units: Unit = "mm") -> None:
    """Warnings to stderr, each once, their lengths in `units`."""
    for line in dict.fromkeys(lines):
        print(f"note: {said_in(line, units)}", file=sys.stderr)
