"""What is typed and sent from a joint's page, as values: pictures, film, lamp, lengths, shims, rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import get_args

from fastapi import Request, UploadFile

from seamlight.mistake import Mistake
from seamlight.seam import Bench, Readings
from seamlight.seam.clicks import parse_ends, parse_middles
from seamlight.seam.length import parse_joint_length
from seamlight.seam.light_ends import NeckAt
from seamlight.units import Unit, parse_length
from seamlight.web.render import house_of
from seamlight.web.seam_reading import SeamAsked, SeamRead, read_seam
from seamlight.web.uploads import NoPicture, Taken, plain_name, take_picture
from seamlight.web.work import compute_now

FILM = "video/mp4"
LIGHT_TYPED = {
    "length": "",
    "shims": "",
    "distance": "400 mm",
    "neck_at": "left",
    "ends": "",
    "middle": "",
    "thickness": "",
    "width": "",
    "faces": "",
}


def length_typed(typed: Mapping[str, str], name: str, unit: Unit) -> float | None:
    """A typed length in mm, None where nothing is typed.

    Raises:
        Mistake: it is no length, with its field.
    """
    text = typed.get(name, "").strip()
    if not text:
        return None
    try:
        return parse_length(text, unit)
    except Mistake as mistake:
        raise Mistake(mistake.what, where=name, do=mistake.do) from mistake


def asked_of(request: Request, typed: Mapping[str, str], known_mm: float | None, pictures: int) -> SeamAsked:
    """The figures about pictures of the joint, or about one film.

    Args:
        known_mm: the length of the pair's record, where none is typed.

    Raises:
        Mistake: what cannot be, with its field.
    """
    unit = house_of(request).unit
    length_mm, tags = parse_joint_length(typed["length"], unit)
    if tags is None:
        length_mm = length_mm or known_mm
    if length_mm is None and tags is None:
        raise Mistake(
            "how long the joint is must be known", where="length", do="measure it, or write tags: see there"
        )
    return SeamAsked(
        length_mm=length_mm,
        tags=tags,
        shims_mm=shims_of(typed["shims"], unit),
        distance_mm=length_typed(typed, "distance", unit) or 400.0,
        neck_at=neck_typed(typed),
        ends_px=parse_ends(typed["ends"], pictures, where="ends"),
        middle_px=parse_middles(typed["middle"], pictures, where="middle"),
    )


def neck_typed(typed: Mapping[str, object]) -> NeckAt:
    """Where the neck end was said to be."""
    return next((way for way in get_args(NeckAt) if way == typed.get("neck_at")), "left")


def shims_of(typed: str, unit: Unit) -> tuple[float, float] | None:
    """Two shims, neck end first; None where none are typed.

    Raises:
        Mistake: they are not two.
    """
    parts = [part for part in typed.replace(";", " ").split() if part]
    if len(parts) == 1 and parts[0].count(",") == 1 and "." in parts[0]:
        parts = parts[0].split(",")
    if not parts:
        return None
    if len(parts) != 2:
        raise Mistake(
            f"{typed!r} is not two shims", where="shims", do="write neck and tail, such as 0.05 0.15"
        )
    neck, tail = (parse_length(part.strip(","), unit, where="shims") for part in parts)
    return neck, tail


def table_rows(
    columns: Sequence[Sequence[str]], unit: Unit, where: str
) -> list[tuple[float, float, float | None]]:
    """Typed rows of place and two figures in mm; a row without figures is left out.

    Raises:
        Mistake: a figure without its place, or one that is no length.
    """
    if len({len(column) for column in columns}) != 1:
        raise Mistake("the table is not complete", where=where, do="fill in each row")
    rows = []
    for number, (place, first, second) in enumerate(zip(*columns, strict=True), 1):
        if not first.strip() and not second.strip():
            continue
        if not place.strip() or not first.strip():
            raise Mistake(f"row {number} is not complete", where=where, do="write the place and its figures")
        at, one = (parse_length(text, unit, where=where) for text in (place, first))
        rows.append((at, one, parse_length(second, unit, where=where) if second.strip() else None))
    return rows


def taken(
    request: Request, photos: list[UploadFile], lamp: UploadFile | None
) -> tuple[list[Taken], Taken | None]:
    """The pictures, or the film, and the lamp's own picture.

    Raises:
        Mistake: nothing was given, or what is no picture.
    """
    given = [photo for photo in photos if photo.filename]
    if not given:
        raise Mistake("no picture was given", where="photos", do="shoot the joint against the lamp")
    bare = lamp if lamp is not None and lamp.filename else None
    return [_take(request, one) for one in given], _take(request, bare) if bare is not None else None


def _take(request: Request, upload: UploadFile) -> Taken:
    """A picture, or a film by its content (ISO/IEC 14496-12: the file type box)."""
    limits = request.app.state.serving.limits
    try:
        return take_picture(upload, limits)
    except NoPicture:
        upload.file.seek(0)
        data = upload.file.read(limits.file_bytes + 1)
        if data[4:8] != b"ftyp":
            raise
        return Taken(data, FILM, plain_name(upload.filename))


def read_pictures(
    request: Request,
    pictures: list[Taken],
    lamp: Taken | None,
    asked: SeamAsked,
    bench: Bench,
    faces: Readings | None = None,
) -> SeamRead:
    """The joint read in the process beside the server.

    Args:
        faces: what was felt on both its faces.

    Raises:
        Mistake: what spoils the reading.
    """
    with _laid_down(pictures, lamp) as (paths, bare):
        found: SeamRead = compute_now(request.app, read_seam, paths, bare, asked, bench, faces)
    return found


@contextmanager
def _laid_down(pictures: list[Taken], lamp: Taken | None) -> Iterator[tuple[list[Path], Path | None]]:
    """What was taken as files of a folder that goes away, under names that the page's words can use."""
    with TemporaryDirectory(prefix="seamlight-") as folder:

        def laid(one: Taken, name: str) -> Path:
            path = Path(folder) / f"{name}{'.mp4' if one.media_type == FILM else '.jpg'}"
            path.write_bytes(one.data)
            return path

        paths = [laid(one, f"picture {number}") for number, one in enumerate(pictures, 1)]
        yield paths, laid(lamp, "the lamp") if lamp is not None else None
