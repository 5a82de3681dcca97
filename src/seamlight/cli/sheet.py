"""`seamlight sheet KIND`: what is printed or cut."""

from __future__ import annotations

import argparse
from pathlib import Path

from seamlight.cli import sheet_labels
from seamlight.cli.layout import laid_out, write_sheet
from seamlight.cli.options import OUTLINE_HELP, Verbs, add_common, add_layout, outline_of, warn
from seamlight.mistake import Mistake
from seamlight.outline import for_back
from seamlight.sheets.light_stand import sheet_light_stand
from seamlight.sheets.outline import sheet_outline
from seamlight.sheets.target import sheet_target
from seamlight.whole_file import check_writable

PAPERS = ("a4", "letter", "a3", "roll")


def add_verb(verbs: Verbs) -> None:
    """Add `sheet` and its kinds."""
    parser = verbs.add_parser(
        "sheet", help="what is printed or cut: target, marking, outline, labels, light-stand"
    )
    kinds = parser.add_subparsers(metavar="KIND", required=True)
    _add_target(kinds)
    _add_outline(kinds)
    _add_marking(kinds)
    sheet_labels.add_kind(kinds)
    _add_light_stand(kinds)


def _add_out(parser: argparse.ArgumentParser, papers: tuple[str, ...], formats: str) -> None:
    parser.add_argument("--out", metavar="FILE", type=Path, required=True, help=formats)
    parser.add_argument("--paper", choices=papers, default="a4")


def _add_target(kinds: Verbs) -> None:
    parser = kinds.add_parser("target", help="the target sheet that gives a photograph its scale")
    _add_out(parser, ("a4", "letter"), "a PDF file")
    parser.add_argument("--number", metavar="N", type=int, default=1, help="the sheet's number (default 1)")
    parser.set_defaults(run=run_target)


def _add_outline(kinds: Verbs) -> None:
    parser = kinds.add_parser("outline", help="an outline full size, on tiled pages or for cutting")
    parser.add_argument("--outline", metavar="NAME|FILE", required=True, help=OUTLINE_HELP)
    parser.add_argument("--outline-units", choices=("mm", "cm", "inch"), help="for a file that does not say")
    parser.add_argument("--for", dest="use", choices=("top", "back"), default="top")
    parser.add_argument("--half", action="store_true", help="the right half alone, as a half template")
    parser.add_argument("--left-handed", action="store_true", help="bass and treble side change places")
    _add_out(parser, PAPERS, "a PDF, DXF or SVG file")
    add_common(parser, json_too=False)
    parser.set_defaults(run=run_outline)


def _add_marking(kinds: Verbs) -> None:
    parser = kinds.add_parser("marking", help="the marking sheet of one opening")
    add_layout(parser)
    parser.add_argument("--opening", metavar="N", type=int, default=1, help="which opening (default 1)")
    _add_out(parser, ("a4", "letter", "a3"), "a PDF file")
    add_common(parser, json_too=False)
    parser.set_defaults(run=run_marking)


def _add_light_stand(kinds: Verbs) -> None:
    parser = kinds.add_parser("light-stand", help="a stand that holds leaves, lamp and phone for `seam`")
    _add_out(parser, ("a4", "letter"), "a PDF file")
    parser.set_defaults(run=run_light_stand)


def _need_suffix(path: Path, *suffixes: str) -> None:
    if path.suffix.lower() not in suffixes:
        raise Mistake(
            f"this kind is not written as {path.suffix or 'a file without an ending'}",
            where=f"--out {path}",
            do=f"name a file that ends in {' or '.join(suffixes)}",
        )


def run_target(args: argparse.Namespace) -> None:
    """Write the target sheet."""
    _need_suffix(args.out, ".pdf")
    sheet_target(args.out, paper=args.paper, number=args.number)
    print(f"{args.out}: print it at 100 %, measure its 150 mm bar, lay it beside the leaf")


def run_outline(args: argparse.Namespace) -> None:
    """Write the outline."""
    _need_suffix(args.out, ".pdf", ".dxf", ".svg")
    outline = outline_of(args.outline, args)
    outline = for_back(outline) if args.use == "back" else outline
    warn(outline.warnings)
    sheet_outline(
        outline, args.out, paper=args.paper, half=args.half, unit=args.units, left_handed=args.left_handed
    )
    print(f"{args.out}: {outline.name} at full size; check a 150 mm bar before you cut")


def run_marking(args: argparse.Namespace) -> None:
    """Write the marking sheet."""
    _need_suffix(args.out, ".pdf")
    check_writable(args.out)
    pair, layout = laid_out(args)
    write_sheet(args, pair, layout, args.out)
    print(f"{args.out}: the marking sheet of opening {args.opening}")


def run_light_stand(args: argparse.Namespace) -> None:
    """Write the drawing of the stand."""
    _need_suffix(args.out, ".pdf")
    sheet_light_stand(args.out, paper=args.paper)
    print(f"{args.out}: print it at 100 %; its foot and shims are full size")
