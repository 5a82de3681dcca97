"""The plate of a pair, or of a piece the shop does not know: tap it, read it, settle its thickness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, get_args

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.plate import TapDocument
from seamlight.plate.piece import Kind
from seamlight.shop.file_rows import add_row
from seamlight.shop.plate_bench import TAP, PieceName, drawn_key
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.shop import Shop
from seamlight.shop.tables import File
from seamlight.shop.tally import weigh, weights
from seamlight.web import plate_bench_forms, plate_chart_pages, plate_outline_pages
from seamlight.web.access import Asks
from seamlight.web.errors import nothing_here
from seamlight.web.plate_facts import DAY, NEW, PLACED, SIZE, bench_facts, pair_facts
from seamlight.web.plate_form import at_a_field, day_of, piece_of, places_of, said_modes
from seamlight.web.plate_reading import (
    Heard,
    PlateAsked,
    heard_of,
    judge_heard,
    read_recordings,
)
from seamlight.web.recordings import laid_down, take_recordings
from seamlight.web.render import again, go, house_of, page
from seamlight.web.uploads import Taken
from seamlight.web.work import compute_now

router = APIRouter(include_in_schema=False)

PAGE = "plate.html"
Text = Annotated[str, Form(max_length=80)]
Long = Annotated[str, Form(max_length=4000)]
Piece = Annotated[PieceName, Form()]


@router.get("/wood/pairs/{pair_id}/plate")
def show(request: Request, pair_id: int, piece: PieceName | None = None) -> HTMLResponse:
    """A pair's plate: spectrum, modes, the three numbers, the thickness."""
    return page(request, PAGE, mistake=None, **pair_facts(request, pair_id, piece))


@router.get(NEW)
def show_alone(request: Request) -> HTMLResponse:
    """A plate without a pair."""
    return page(request, PAGE, mistake=None, **bench_facts(request))


@router.post("/wood/pairs/{pair_id}/plate/taps")
def taps(
    request: Request,
    asker: Asks,
    pair_id: int,
    recordings: list[UploadFile] | None = None,
    piece: Piece = "a",
    length: Text = "",
    width: Text = "",
    width2: Text = "",
    thickness: Text = "",
    weight: Text = "",
    species: Text = "",
    temp: Text = "",
    rh: Text = "",
    runout: Text = "",
    rings: Text = "",
    changed: Text = "",
    places: Long = "",
) -> Response:
    """Recordings of taps on a piece of a pair: read and kept."""
    typed = dict(zip(SIZE, (piece, length, width, width2, thickness, weight), strict=True))
    typed |= dict(zip(DAY, (species, temp, rh, runout, rings), strict=True))
    typed |= {"changed": changed, "places": places}
    shop: Shop = request.app.state.shop
    try:
        taken = take_recordings(recordings or (), request.app.state.serving.limits)
        asked = _asked(request, typed, kind_of(piece), len(taken))
        document, heard = _read(request, [(one.data, one.media_type) for one in taken], asked)
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **pair_facts(request, pair_id, piece, typed))
    document = _named_as_given(document, taken)
    shas = [shop.files.keep(one.data, one.media_type) for one in taken]
    with shop.change(asker.name) as change:
        for sha, one in zip(shas, taken, strict=True):
            add_row(change, sha, one.media_type, len(one.data))
        row = keep_reading(
            change,
            TAP,
            document,
            pair_id=pair_id,
            files=shas,
            says={**typed, "names": [one.name for one in taken]},
            temp_c=asked.day.temp_c,
            rh_pct=asked.day.rh_pct,
        )
        leaf = "both" if piece in ("joined", "blank") else piece
        known = {one.leaf: one.grams for one in weights(change.session, pair_id)}
        if known.get(leaf) != asked.piece.weight_g:
            weigh(change, pair_id, leaf, asked.piece.weight_g)
    shop.made.keep(drawn_key(row.id), heard.text().encode())
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}")


@router.post("/wood/pairs/{pair_id}/plate/{reading_id}/again")
def put_right(
    request: Request,
    asker: Asks,
    pair_id: int,
    reading_id: int,
    length: Text = "",
    width: Text = "",
    width2: Text = "",
    thickness: Text = "",
    weight: Text = "",
    species: Text = "",
    temp: Text = "",
    rh: Text = "",
    runout: Text = "",
    rings: Text = "",
    said_twist: Text = "",
    said_along: Text = "",
    said_across: Text = "",
) -> Response:
    """The same recordings with peaks named by hand, or with sizes put right: a new reading beside the old."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        old = next(
            (row for row in readings(session, pair_id=pair_id, verb=TAP) if row.id == reading_id), None
        )
        if old is None:
            raise nothing_here("There is no such reading.")
        piece: PieceName = next((name for name in get_args(PieceName) if name == old.says.get("piece")), "a")
        files = [(sha, session.get_one(File, sha).media_type) for sha in old.files]
        said = dict(old.says)
    typed = dict(zip(SIZE, (piece, length, width, width2, thickness, weight), strict=True))
    typed |= dict(zip(DAY, (species, temp, rh, runout, rings), strict=True))
    typed |= {"changed": said.get("changed", ""), "places": said.get("places", "")}
    typed |= dict(zip(PLACED[2:], (said_twist, said_along, said_across), strict=True))
    try:
        asked = _asked(request, typed, kind_of(piece), len(files))
        document, heard = _again(request, reading_id, files, asked)
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **pair_facts(request, pair_id, piece, typed))
    with shop.change(asker.name) as change:
        row = keep_reading(
            change,
            TAP,
            document,
            pair_id=pair_id,
            files=[sha for sha, _ in files],
            says={**said, **typed},
            temp_c=asked.day.temp_c,
            rh_pct=asked.day.rh_pct,
        )
    shop.made.keep(drawn_key(row.id), heard.text().encode())
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}", "Read again with what you said.")


@router.post(NEW)
def taps_alone(
    request: Request,
    recordings: list[UploadFile] | None = None,
    length: Text = "",
    width: Text = "",
    width2: Text = "",
    thickness: Text = "",
    weight: Text = "",
    species: Text = "",
    temp: Text = "",
    rh: Text = "",
    runout: Text = "",
    rings: Text = "",
    changed: Text = "",
    places: Long = "",
    said_twist: Text = "",
    said_along: Text = "",
    said_across: Text = "",
    heard_text: Annotated[str, Form(max_length=400_000)] = "",
) -> Response:
    """Recordings of taps on a piece of no pair: read and shown, not kept.

    `heard_text` is what the page said was heard before: with it no recording has to be sent again.
    """
    typed = dict(zip(SIZE, ("a", length, width, width2, thickness, weight), strict=True))
    typed |= dict(zip(DAY, (species, temp, rh, runout, rings), strict=True))
    typed |= dict(zip(PLACED, (changed, places, said_twist, said_along, said_across), strict=True))
    heard = heard_of(heard_text) if heard_text else None
    still: TapDocument | None = None
    try:
        taken = take_recordings(recordings or (), request.app.state.serving.limits)
        if taken or heard is None:
            asked = _asked(request, typed | dict.fromkeys(PLACED[2:], ""), "plate", len(taken))
            document, heard = _read(request, [(one.data, one.media_type) for one in taken], asked)
            document = _named_as_given(document, taken)
        else:
            asked = replace(_asked(request, typed, "plate", 0, placed=False), places=heard.reading.places)
            still = judge_heard(heard.reading, replace(asked, said={})) if asked.said else None
            document = judge_heard(heard.reading, asked)
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **bench_facts(request, typed, still, heard))
    return page(request, PAGE, mistake=None, **bench_facts(request, typed, document, heard))


router.include_router(plate_bench_forms.router)
router.include_router(plate_outline_pages.router)
router.include_router(plate_chart_pages.router)


def kind_of(piece: PieceName) -> Kind:
    """How a piece is modelled."""
    return "bar" if piece == "blank" else "plate"


def _asked(
    request: Request, typed: Mapping[str, str], kind: Kind, recordings: int, *, placed: bool = True
) -> PlateAsked:
    """The typed figures as values.

    Raises:
        Mistake: what is missing or cannot be, with its field.
    """
    if placed and not recordings:
        raise Mistake("no recording was given", where="recordings", do="record six taps, a second apart")
    return PlateAsked(
        piece_of(typed, kind, house_of(request).unit),
        kind,
        day_of(typed),
        said_modes(typed),
        places_of(typed, recordings) if placed else (),
    )


def _read(
    request: Request, sounds: list[tuple[bytes | Path, str]], asked: PlateAsked
) -> tuple[TapDocument, Heard]:
    with laid_down(sounds) as paths:
        found: tuple[TapDocument, Heard] = compute_now(request.app, read_recordings, paths, asked)
    return found


def _again(
    request: Request, reading_id: int, files: list[tuple[str, str]], asked: PlateAsked
) -> tuple[TapDocument, Heard]:
    """From what was heard, where that is still kept; else from the recordings."""
    shop: Shop = request.app.state.shop
    kept = shop.made.path(drawn_key(reading_id))
    heard = heard_of(kept.read_bytes()) if kept.is_file() else None
    if heard is not None:
        return judge_heard(heard.reading, asked), heard
    return _read(request, [(shop.files.path(sha), media_type) for sha, media_type in files], asked)


def _named_as_given(document: TapDocument, taken: list[Taken]) -> TapDocument:
    """Warnings name recordings as they were given."""

    def named(line: str) -> str:
        for number, one in enumerate(taken, 1):
            for suffix in (".wav", ".flac", ".ogg", ".m4a", ".mp3", ".webm"):
                line = line.replace(f"recording {number}{suffix}", one.name)
        return line

    changed: dict[str, Any] = {"warnings": [named(line) for line in document.warnings]}
    return document.model_copy(update=changed)
