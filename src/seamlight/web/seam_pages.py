"""The seam of a pair, or of leaves that the shop does not know: shoot it, read it, what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Any, Literal, get_args

from fastapi import APIRouter, Form, Request, UploadFile
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.seam import Bench, glue_up, judge_readings, parse_readings
from seamlight.seam.document import SeamDocument
from seamlight.seam.light_view import NeckAt
from seamlight.shop.air import newest_air
from seamlight.shop.file_rows import add_row
from seamlight.shop.readings import delete_reading, keep_reading
from seamlight.shop.seam_bench import (
    JointRead,
    bench_of,
    figures,
    joint_length_mm,
    joint_readings,
    learned,
    note_strokes,
    straight_key,
    use_figure,
)
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Air
from seamlight.shop.wood import pair
from seamlight.timber.glue import glue_names
from seamlight.units import parse_length
from seamlight.web.access import Asks
from seamlight.web.curves import WIDE, curve, round_up
from seamlight.web.render import again, go, house_of, page
from seamlight.web.seam_reading import SeamAsked, SeamRead, read_seam
from seamlight.web.uploads import NoPicture, Taken, plain_name, take_picture
from seamlight.web.work import compute_now

router = APIRouter()

TYPED = {
    "length": "",
    "shims": "",
    "distance": "400 mm",
    "neck_at": "left",
    "thickness": "",
    "width": "",
    "readings": "",
    "of": "joint",
    "tool": "120 grit",
    "strokes": "",
    "from": "",
    "to": "",
}
NECKS = tuple((way, f"at the picture's {way}") for way in get_args(NeckAt))
OF = (("joint", "the closed joint"), ("one-edge", "one edge"), ("folded", "both edges folded together"))
NEW = "/bench/seam"
VERDICTS = {"glue": "fits", "a few strokes": "marginal", "plane again": "short"}
FILM = "video/mp4"
Text = Annotated[str, Form(max_length=60)]
Neck = Annotated[NeckAt, Form()]


@router.get("/wood/pairs/{pair_id}/seam")
def show(request: Request, pair_id: int) -> HTMLResponse:
    """A pair's joint: its newest reading large, the earlier ones above one another, what to do."""
    return page(request, "seam.html", mistake=None, **_facts(request, pair_id))


@router.get(NEW)
def show_alone(request: Request) -> HTMLResponse:
    """A reading without a pair."""
    return page(request, "seam.html", mistake=None, **_facts_alone(request))


@router.post("/wood/pairs/{pair_id}/seam")
def shoot(
    request: Request,
    asker: Asks,
    pair_id: int,
    photos: list[UploadFile],
    lamp: UploadFile | None = None,
    length: Text = "",
    shims: Text = "",
    distance: Text = "",
    neck_at: Neck = "left",
) -> Response:
    """Pictures, or a film, of a pair's joint: read and kept."""
    shop: Shop = request.app.state.shop
    typed = {"length": length, "shims": shims, "distance": distance, "neck_at": neck_at}
    try:
        with shop.read() as session:
            bench = bench_of(session, pair_id, house_of(request).unit)
            known = joint_length_mm(session, pair_id)
        asked = _asked(request, typed, known)
        pictures, bare = _taken(request, photos, lamp)
        found = _read(request, pictures, bare, asked, bench)
    except Mistake as mistake:
        return again(request, "seam.html", mistake, **_facts(request, pair_id, typed))
    every = [*pictures, *([bare] if bare is not None else [])]
    shas = [shop.files.keep(one.data, one.media_type) for one in every]
    with shop.change(asker.name) as change:
        for sha, one in zip(shas, every, strict=True):
            size = (one.width_px, one.height_px)
            add_row(change, sha, one.media_type, len(one.data), width_px=size[0], height_px=size[1])
        says = {**typed, "lamp": shas[-1] if bare is not None else None}
        air = newest_air(change.session)
        row = keep_reading(
            change,
            "seam",
            found.document,
            pair_id=pair_id,
            files=dict.fromkeys(shas),
            says=says,
            temp_c=air.temp_c if air else None,
            rh_pct=air.rh_pct if air else None,
        )
        shop.made.keep(straight_key(row.id), found.straight)
    return go(request, f"/wood/pairs/{pair_id}/seam")


@router.post("/wood/pairs/{pair_id}/seam/readings")
def type_in(
    request: Request,
    asker: Asks,
    pair_id: int,
    readings: Annotated[str, Form(max_length=20_000)] = "",
    of: Annotated[Literal["joint", "one-edge", "folded"], Form()] = "joint",
    length: Text = "",
) -> Response:
    """Straightedge and feeler readings of a pair's joint, typed."""
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    typed = {"readings": readings, "of": of, "length": length}
    try:
        with shop.read() as session:
            bench = bench_of(session, pair_id, unit)
            known = joint_length_mm(session, pair_id)
        said = parse_readings(readings, unit)
        length_mm = parse_length(length, unit) if length.strip() else known
        meaning = judge_readings(said, bench, of=of, length_mm=length_mm)
        with shop.change(asker.name) as change:
            document = SeamDocument.of_meaning(meaning, bench)
            keep_reading(change, "edge", document, pair_id=pair_id, says=typed)
    except Mistake as mistake:
        return again(request, "seam.html", mistake, **_facts(request, pair_id, typed))
    return go(request, f"/wood/pairs/{pair_id}/seam")


@router.post(NEW)
def shoot_alone(
    request: Request,
    photos: list[UploadFile],
    lamp: UploadFile | None = None,
    length: Text = "",
    shims: Text = "",
    distance: Text = "",
    neck_at: Neck = "left",
    thickness: Text = "",
    width: Text = "",
) -> Response:
    """Pictures of a joint that belongs to no pair: read and shown, not kept."""
    typed = {"length": length, "shims": shims, "distance": distance, "neck_at": neck_at}
    typed |= {"thickness": thickness, "width": width}
    try:
        asked = _asked(request, typed, None)
        pictures, bare = _taken(request, photos, lamp)
        found = _read(request, pictures, bare, asked, _bench_alone(request, typed))
    except Mistake as mistake:
        return again(request, "seam.html", mistake, **_facts_alone(request, typed))
    return page(request, "seam.html", mistake=None, **_facts_alone(request, typed, found.document))


@router.post("/wood/pairs/{pair_id}/seam/strokes")
def strokes_made(
    request: Request,
    asker: Asks,
    pair_id: int,
    tool: Text = "",
    strokes: Text = "",
    from_: Annotated[str, Form(alias="from", max_length=60)] = "",
    to: Text = "",
) -> Response:
    """Note strokes that were made between two readings."""
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    typed = {"tool": tool, "strokes": strokes, "from": from_, "to": to}
    try:
        if not strokes.strip().isdecimal():
            raise Mistake(f"{strokes!r} is no number of strokes", where="strokes", do="count them")
        ends = parse_length(from_ or "0", unit), parse_length(to, unit)
        with shop.change(asker.name) as change:
            note_strokes(change, pair_id, tool, int(strokes), *ends)
    except Mistake as mistake:
        return again(request, "seam.html", mistake, **_facts(request, pair_id, typed))
    return go(request, f"/wood/pairs/{pair_id}/seam", "Noted. Read the joint again: its figure follows.")


@router.post("/wood/pairs/{pair_id}/seam/learn")
def use_learned(request: Request, asker: Asks, pair_id: int, tool: Text) -> Response:
    """Use what this pair's readings say of a tool for every pair."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        figure = learned(change.session, pair_id, tool)
        use_figure(change, figure)
    said = f"A stroke of {figure.tool} takes {figure.per_stroke_mm:.4f} mm from now on."
    return go(request, f"/wood/pairs/{pair_id}/seam", said)


@router.post("/wood/pairs/{pair_id}/seam/{reading_id}/drop")
def drop(request: Request, asker: Asks, pair_id: int, reading_id: int) -> Response:
    """Put a reading among the recently deleted."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        delete_reading(change, reading_id)
    return go(request, f"/wood/pairs/{pair_id}/seam", "Taken away; the reading before counts again.")


def _asked(request: Request, typed: dict[str, str], known_mm: float | None) -> SeamAsked:
    """The typed figures as values.

    Raises:
        Mistake: what cannot be, with its field.
    """
    unit = house_of(request).unit

    def length(name: str) -> float | None:
        try:
            return parse_length(typed[name], unit) if typed[name].strip() else None
        except Mistake as mistake:
            raise Mistake(mistake.what, where=name, do=mistake.do) from mistake

    length_mm = length("length") or known_mm
    if length_mm is None:
        raise Mistake("how long the joint is must be known", where="length", do="measure it along the seam")
    return SeamAsked(
        length_mm, _shims(typed["shims"], unit), length("distance") or 400.0, _neck(typed["neck_at"])
    )


def _neck(typed: str) -> NeckAt:
    return next((way for way in get_args(NeckAt) if way == typed), "left")


def _shims(typed: str, unit: Literal["mm", "inch"]) -> tuple[float, float] | None:
    """Two shims, neck end first; None where none are typed."""
    parts = [part for part in typed.replace(";", " ").split() if part]
    if len(parts) == 1 and parts[0].count(",") == 1 and "." in parts[0]:
        parts = parts[0].split(",")
    if not parts:
        return None
    if len(parts) != 2:
        raise Mistake(
            f"{typed!r} is not two shims", where="shims", do="write neck and tail, such as 0.05 0.15"
        )
    neck, tail = (parse_length(part.strip(","), unit) for part in parts)
    return neck, tail


def _taken(
    request: Request, photos: list[UploadFile], lamp: UploadFile | None
) -> tuple[list[Taken], Taken | None]:
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


def _read(
    request: Request, pictures: list[Taken], lamp: Taken | None, asked: SeamAsked, bench: Bench
) -> SeamRead:
    with _laid_down([*pictures, *([lamp] if lamp is not None else [])]) as paths:
        bare = paths.pop() if lamp is not None else None
        found: SeamRead = compute_now(request.app, read_seam, paths, bare, asked, bench)
    return found


@contextmanager
def _laid_down(taken: list[Taken]) -> Iterator[list[Path]]:
    """What was taken as files of a folder that goes away, under names of ours."""
    with TemporaryDirectory(prefix="seamlight-") as folder:
        paths = []
        for number, one in enumerate(taken, 1):
            path = Path(folder) / f"picture {number}{'.mp4' if one.media_type == FILM else '.jpg'}"
            path.write_bytes(one.data)
            paths.append(path)
        yield paths


def _bench_alone(request: Request, typed: dict[str, str]) -> Bench:
    unit = house_of(request).unit
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        tools = figures(session)
    bench = Bench(figures=tools, unit=unit)
    if typed["thickness"].strip():
        bench = replace(bench, thickness_mm=parse_length(typed["thickness"], unit))
    if typed["width"].strip():
        bench = replace(bench, width_mm=parse_length(typed["width"], unit))
    return bench


def _facts(request: Request, pair_id: int, typed: dict[str, str] | None = None) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = pair(session, pair_id)
        read = joint_readings(session, pair_id)
        bench = bench_of(session, pair_id, house_of(request).unit)
        length_mm = joint_length_mm(session, pair_id)
        air = newest_air(session)
        taught = _taught(session, pair_id, bench)
    common = _common(typed, read[-1].document if read else None, bench, air)
    newest = straight_key(read[-1].id) if read else ""
    return common | {
        "title": f"The seam of {found.label}",
        "here": f"/wood/pairs/{pair_id}/seam",
        "pair": found,
        "read": read,
        "history": _history(read),
        "straight": f"/made/{newest}" if newest and shop.made.path(newest).is_file() else "",
        "length_mm": length_mm,
        "room_mm": bench.room_mm,
        "taught": taught,
    }


def _facts_alone(
    request: Request, typed: dict[str, str] | None = None, document: SeamDocument | None = None
) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        air = newest_air(session)
    common = _common(typed, document, _bench_alone(request, TYPED | (typed or {})), air)
    return common | {
        "title": "A seam without a pair",
        "here": NEW,
        "pair": None,
        "read": (),
        "history": (),
        "straight": "",
        "length_mm": None,
        "room_mm": None,
        "taught": (),
    }


def _common(
    typed: dict[str, str] | None, document: SeamDocument | None, bench: Bench, air: Air | None
) -> dict[str, Any]:
    weather = (
        (air.temp_c, air.rh_pct)
        if air is not None and air.temp_c is not None and air.rh_pct is not None
        else None
    )
    glue = None
    if document is not None and document.verdict == "glue":
        closing = document.pull_together.pressure_mpa if document.pull_together is not None else 0.0
        glue = glue_up(bench, document.length_mm, closing_mpa=closing, air=weather)
    return {
        "place": "wood",
        "typed": {**TYPED, **(typed or {})},
        "document": document,
        "shown": _shown(document) if document is not None else None,
        "kind": VERDICTS[document.verdict] if document is not None else "note",
        "glue": glue,
        "glues": [(name, name) for name in glue_names()],
        "necks": NECKS,
        "of_what": OF,
    }


def _shown(document: SeamDocument) -> dict[str, Any]:
    """The newest reading drawn: the gap that matters, or the light where millimetres are not known."""
    values = document.fit_gap_mm if document.fit_gap_mm is not None else (document.light or [])
    top = round_up(max(values, default=0.0)) if document.fit_gap_mm is not None else 1.0
    per_mm = WIDE / document.length_mm
    return {
        "curve": curve(document.s_mm, values, document.length_mm, top),
        "top": top,
        "in_mm": document.fit_gap_mm is not None,
        "touching": [(a * per_mm, b * per_mm) for a, b in document.touching_mm],
        "take_off": [(one.from_mm * per_mm, one.to_mm * per_mm, one.depth_mm) for one in document.take_off],
    }


def _history(read: tuple[JointRead, ...]) -> list[dict[str, Any]]:
    """Readings in mm, newest first, at one scale."""
    known = [one for one in read if one.document.fit_gap_mm is not None]
    top = round_up(max((max(one.document.fit_gap_mm or [0.0]) for one in known), default=0.0))
    return [
        {
            "one": one,
            "curve": curve(one.document.s_mm, one.document.fit_gap_mm or [], one.document.length_mm, top),
            "top": top,
        }
        for one in reversed(known)
    ]


def _taught(session: Session, pair_id: int, bench: Bench) -> tuple[tuple[str, float, float], ...]:
    """Tools that this pair's readings teach: name, the figure used so far, the figure learned."""
    found = []
    for figure in bench.figures:
        try:
            now = learned(session, pair_id, figure.tool)
            found.append((figure.tool, figure.per_stroke_mm, now.per_stroke_mm))
        except Mistake:
            continue
    return tuple(found)
