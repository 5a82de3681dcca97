"""From a blank to a brace: its stiffness, its height and shape, its weight, its runout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Form, Request, UploadFile
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.plate import TapDocument
from seamlight.plate.section import SECTIONS, SectionKind
from seamlight.shop.missing import Missing
from seamlight.shop.plate_bench import BRACE, DEFLECT, TAP, newest_of, plate_readings
from seamlight.shop.plate_documents import BraceDocument
from seamlight.shop.readings import keep_reading, newest
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.timber.species import species_names
from seamlight.web.access import Asks
from seamlight.web.brace_form import blank_of, brace_of
from seamlight.web.chart_files import ChartForm, chart_file
from seamlight.web.plate_form import at_a_field, day_of, piece_of
from seamlight.web.plate_reading import PlateAsked, read_recordings
from seamlight.web.plate_shape_charts import brace_figure
from seamlight.web.recordings import ACCEPT, laid_down, take_recordings
from seamlight.web.render import again, go, house_of, page
from seamlight.web.work import compute_now

router = APIRouter(include_in_schema=False)

NEW = "/bench/brace"
PAGE = "brace.html"
Text = Annotated[str, Form(max_length=80)]
SHAPE = (
    "section",
    "brace_width",
    "brace_length",
    "brace_height",
    "wanted",
    "end_height",
    "taper",
    "scallop_at",
    "scallop_height",
    "scallop_reach",
    "run",
)
BLANK = ("e", "spread", "density")
SIZE = ("length", "width", "thickness", "weight", "species")
TYPED = {**dict.fromkeys((*SHAPE, *BLANK, *SIZE), ""), "section": "rectangular"}
WIDE, HIGH = 1000.0, 180.0


@router.get("/wood/pairs/{pair_id}/brace")
def show(request: Request, pair_id: int) -> HTMLResponse:
    """A brace from a blank of the rack."""
    return page(request, PAGE, mistake=None, **_pair_facts(request, pair_id))


@router.get(NEW)
def show_alone(request: Request) -> HTMLResponse:
    """A brace from a blank of no pair."""
    return page(request, PAGE, mistake=None, **_facts(request, {}, None))


@router.get("/wood/pairs/{pair_id}/brace.{form}")
def chart(request: Request, pair_id: int, form: ChartForm) -> Response:
    """The brace from its side, as a file."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        label, row = pair(session, pair_id).label, newest(session, BRACE, pair_id=pair_id)
    if row is None:
        raise Missing("no brace was shaped from this blank", do="shape one on its page")
    document = BraceDocument.model_validate(row.document)
    figure = brace_figure(f"A brace from {label}", document, house_of(request).unit)
    return chart_file(figure, form, f"{label}-brace")


@router.post(NEW + "/drawing")
def chart_alone(
    request: Request,
    form: Annotated[ChartForm, Form()],
    document_text: Annotated[str, Form(max_length=100_000)],
) -> Response:
    """The same of a blank of no pair, from what its page holds."""
    try:
        document = BraceDocument.model_validate_json(document_text)
    except ValueError:
        raise Mistake("no brace was shaped", do="shape it again") from None
    return chart_file(brace_figure("A brace", document, house_of(request).unit), form, "brace")


@router.post("/wood/pairs/{pair_id}/brace")
def shape(
    request: Request,
    asker: Asks,
    pair_id: int,
    e: Text = "",
    spread: Text = "",
    density: Text = "",
    section: Text = "rectangular",
    brace_width: Text = "",
    brace_length: Text = "",
    brace_height: Text = "",
    wanted: Text = "",
    end_height: Text = "",
    taper: Text = "",
    scallop_at: Text = "",
    scallop_height: Text = "",
    scallop_reach: Text = "",
    run: Text = "",
) -> Response:
    """Shape a brace from it: worked out and kept."""
    shaped = (section, brace_width, brace_length, brace_height, wanted, end_height, taper)
    scallop = (scallop_at, scallop_height, scallop_reach, run)
    typed = dict(zip(SHAPE, (*shaped, *scallop), strict=True)) | {
        "e": e,
        "spread": spread,
        "density": density,
    }
    shop: Shop = request.app.state.shop
    try:
        made = brace_of(typed, blank_of(typed), house_of(request).unit)
        with shop.change(asker.name) as change:
            keep_reading(change, BRACE, made.document, pair_id=pair_id, says=typed)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **_pair_facts(request, pair_id, typed))
    return go(request, f"/wood/pairs/{pair_id}/brace")


@router.post(NEW)
def shape_alone(
    request: Request,
    recordings: list[UploadFile] | None = None,
    length: Text = "",
    width: Text = "",
    thickness: Text = "",
    weight: Text = "",
    species: Text = "",
    e: Text = "",
    spread: Text = "",
    density: Text = "",
    section: Text = "rectangular",
    brace_width: Text = "",
    brace_length: Text = "",
    brace_height: Text = "",
    wanted: Text = "",
    end_height: Text = "",
    taper: Text = "",
    scallop_at: Text = "",
    scallop_height: Text = "",
    scallop_reach: Text = "",
    run: Text = "",
) -> Response:
    """The same without a pair, from recordings or from typed figures: shown, not kept."""
    shaped = (section, brace_width, brace_length, brace_height, wanted, end_height, taper)
    scallop = (scallop_at, scallop_height, scallop_reach, run)
    typed = dict(zip(SHAPE, (*shaped, *scallop), strict=True))
    typed |= dict(zip(SIZE, (length, width, thickness, weight, species), strict=True))
    typed |= {"e": e, "spread": spread, "density": density}
    try:
        typed |= _tapped(request, recordings or (), typed)
        asks_shape = any(typed[name].strip() for name in ("brace_width", "brace_length", "wanted"))
        made = brace_of(typed, blank_of(typed), house_of(request).unit) if asks_shape else None
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **_facts(request, typed, None))
    return page(request, PAGE, mistake=None, **_facts(request, typed, made.document if made else None))


def _tapped(request: Request, recordings: Sequence[UploadFile], typed: Mapping[str, str]) -> dict[str, str]:
    """The blank's figures from its taps; nothing where none were recorded.

    Raises:
        Mistake: what spoils the reading.
    """
    taken = take_recordings(recordings, request.app.state.serving.limits)
    if not taken:
        return {}
    asked = PlateAsked(piece_of(typed, "bar", house_of(request).unit), "bar", day_of(typed))
    with laid_down([(one.data, one.media_type) for one in taken]) as paths:
        document, _ = compute_now(request.app, read_recordings, paths, asked)
    return _figures(document)


def _figures(document: TapDocument) -> dict[str, str]:
    """A reading of a blank as the fields of this page."""
    if document.e_along_mpa is None:
        return {}
    spread, density = document.spread_pct.e_along, document.density_kg_m3
    return {
        "e": f"{document.e_along_mpa / 1000:.2f}",
        "spread": "" if spread is None else f"{spread:.1f}",
        "density": "" if density is None else f"{density:.0f}",
    }


def _pair_facts(request: Request, pair_id: int, typed: Mapping[str, str] | None = None) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = pair(session, pair_id)
        row = newest(session, BRACE, pair_id=pair_id)
        filled = _read_of_blank(session, pair_id)
    document = BraceDocument.model_validate(row.document) if row is not None else None
    if row is not None:
        filled = {**{name: row.says.get(name, "") for name in (*SHAPE, *BLANK)}, **filled}
    facts = _facts(request, {**filled, **(typed or {})}, document)
    here = f"/wood/pairs/{pair_id}/brace"
    return facts | {"title": f"A brace from {found.label}", "pair": found, "here": here, "row": row}


def _read_of_blank(session: Session, pair_id: int) -> dict[str, str]:
    """What the blank's newest taps, or else its weight on supports, said."""
    read = plate_readings(session, pair_id)
    one = newest_of(read, "blank", TAP) or newest_of(read, "blank", DEFLECT)
    return _figures(one.document) if one is not None else {}


def _facts(request: Request, typed: Mapping[str, str], document: BraceDocument | None) -> dict[str, Any]:
    unit = house_of(request).unit
    return {
        "title": "A brace without a pair",
        "place": "wood",
        "pair": None,
        "here": NEW,
        "row": None,
        "typed": {**TYPED, **typed},
        "document": document,
        "drawn": _drawn(document) if document is not None else None,
        "sections": list(SECTIONS.items()),
        "section_names": SECTIONS,
        "woods": species_names(),
        "accept": ACCEPT,
        "unit_words": "inches" if unit == "inch" else "mm",
    }


def _drawn(document: BraceDocument) -> dict[str, Any]:
    """Side view (height drawn larger than length), and its section at its highest."""
    s, h = np.array(document.s_mm), np.array(document.heights_mm)
    top = float(h.max())
    points = [
        (float(a) / document.length_mm * WIDE, HIGH * (1 - float(b) / top)) for a, b in zip(s, h, strict=True)
    ]
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    even = HIGH * (1 - document.even_height_mm / top)
    kind: SectionKind = next((name for name in SECTIONS if name == document.section), "rectangular")
    return {
        "side": f"M0 {HIGH:g}L{line}L{WIDE:g} {HIGH:g}Z",
        "even": f"M0 {even:.1f}H{WIDE:g}",
        "times": top * WIDE / (HIGH * document.length_mm),
        "section": section_path(kind, document.width_mm, document.height_mm),
        "box": f"-1 -1 {document.width_mm + 2:.1f} {document.height_mm + 2:.1f}",
    }


def section_path(kind: SectionKind, width_mm: float, height_mm: float) -> str:
    """A section as an SVG path in mm, standing on its base."""
    w, h = width_mm, height_mm
    if kind == "pointed":
        return f"M0 {h:.2f}L{w / 2:.2f} 0L{w:.2f} {h:.2f}Z"
    if kind == "peaked":
        return f"M0 {h:.2f}V{h / 2:.2f}L{w / 2:.2f} 0L{w:.2f} {h / 2:.2f}V{h:.2f}Z"
    if kind == "rounded":
        # a parabola with its top in the middle: one quadratic curve whose control point lies a height above
        return f"M0 {h:.2f}Q{w / 2:.2f} {-h:.2f} {w:.2f} {h:.2f}Z"
    return f"M0 {h:.2f}V0H{w:.2f}V{h:.2f}Z"
