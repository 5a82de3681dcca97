"""`seamlight seam`: the light through a joint, what it means, what to do."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import get_args

from seamlight.cli.edge import add_bench, bench_of, show
from seamlight.cli.options import Verbs, add_common, length
from seamlight.mistake import Mistake
from seamlight.seam.clicks import parse_ends, parse_middles
from seamlight.seam.document import SeamDocument
from seamlight.seam.faces import join_faces
from seamlight.seam.length import parse_joint_length
from seamlight.seam.light import read_light_files
from seamlight.seam.light_ends import NeckAt
from seamlight.seam.meaning import judge_light
from seamlight.seam.readings import load_readings
from seamlight.sheets.picture_file import save_picture
from seamlight.units import parse_length


def add_verb(verbs: Verbs) -> None:
    """Add `seam`."""
    parser = verbs.add_parser("seam", help="light through a joint: where to take off, whether to glue")
    parser.add_argument(
        "photos",
        metavar="PHOTO",
        type=Path,
        nargs="+",
        help="the closed joint against a lamp or window; several pictures, or one short film (MP4, MOV)",
    )
    parser.add_argument(
        "--length",
        metavar="L",
        help="the joint's length; tags: from a target sheet fixed on the face beside the joint (tags=145.5:"
        " its 150 mm bar measures so much)",
    )
    parser.add_argument(
        "--middle",
        metavar="X,Y",
        action="append",
        help="a mark halfway along the joint, pixels: takes out that a camera askew sees one end larger; of"
        " several pictures one after another, - for one without",
    )
    parser.add_argument(
        "--shim",
        metavar="NECK,TAIL",
        help="the gaps that shims make at the neck and the tail end, such as 0.05,0.15; two different ones"
        " give millimetres",
    )
    parser.add_argument("--lamp", metavar="PHOTO", type=Path, help="the lamp without the joint, same place")
    parser.add_argument(
        "--distance", metavar="LEN", default="400mm", help="from the lens to the joint (default 400 mm)"
    )
    parser.add_argument(
        "--neck",
        choices=get_args(NeckAt),
        default="left",
        help="where the neck end is in the picture (default left)",
    )
    parser.add_argument(
        "--ends",
        metavar="X,Y,X,Y",
        action="append",
        help="the joint's two ends in the picture, pixels, neck end first: where the seam is not found; of"
        " several pictures one after another, - for one without; of a film in its first frame",
    )
    parser.add_argument(
        "--faces",
        metavar="CSV",
        type=Path,
        help="feelers on both faces of the same joint, rows s_mm, front_mm, back_mm: out of square and wind,"
        " which light cannot see, join the judgement",
    )
    parser.add_argument(
        "--picture", metavar="OUT.png", type=Path, help="write the seam laid straight, neck end at the left"
    )
    add_bench(parser)
    add_common(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Read the light, judge it, print."""
    bench = bench_of(args)
    length_mm, tags = parse_joint_length(args.length or "", where="--length")
    pictures = len(args.photos)
    reading = read_light_files(
        args.photos,
        length_mm,
        shims_mm=None if args.shim is None else shims_of(args.shim),
        lamp=args.lamp,
        thickness_mm=bench.thickness_mm,
        distance_mm=length(args, "distance") or 400.0,
        neck_at=args.neck,
        ends_px=parse_ends(" ".join(args.ends or ()), pictures, where="--ends"),
        tags=tags,
        middle_px=parse_middles(" ".join(args.middle or ()), pictures, where="--middle"),
    )
    if args.picture is not None:
        save_picture(args.picture, reading.straight)
    meaning = judge_light(reading, bench)
    if args.faces is not None:
        meaning = join_faces(meaning, load_readings(args.faces), bench)
    show(SeamDocument.of_meaning(meaning, bench), args)


def shims_of(text: str) -> tuple[float, float]:
    """Two shims typed as `0.05,0.15`, `0,05;0,15` or `2 thou, 6 thou`.

    Raises:
        Mistake: they are not two.
    """
    parts = text.split(";" if ";" in text else ",")
    if len(parts) != 2:
        raise Mistake(
            f"{text!r} is not two shims",
            where="--shim",
            do="give neck and tail such as 0.05,0.15; part them by ; where commas are decimal",
        )
    neck, tail = (parse_length(part, where="--shim") for part in parts)
    return neck, tail
