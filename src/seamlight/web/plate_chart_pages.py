"""A plate's charts as files: spectrum, plate with its modes, cloud of past plates, thickness map."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.plate import TapDocument
from seamlight.plate.model import named_modes, surroundings
from seamlight.plate.named import NAMES
from seamlight.plate.piece import Piece
from seamlight.shop.missing import Missing
from seamlight.shop.plate_bench import (
    TAP,
    THICKNESS,
    PlateRead,
    drawn_key,
    past_plates,
    plate_readings,
    wood_named,
)
from seamlight.shop.plate_documents import ThicknessDocument
from seamlight.shop.plate_rule import elastic_of
from seamlight.shop.readings import readings
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.units import MM_PER_INCH
from seamlight.web.chart_files import ChartForm, chart_file
from seamlight.web.plate_charts import fitted_curve
from seamlight.web.plate_file_charts import PeakLine, cloud_figure, map_figure, modes_figure, spectrum_figure
from seamlight.web.plate_reading import heard_of
from seamlight.web.render import house_of

router = APIRouter(include_in_schema=False)
_OF = "/wood/pairs/{pair_id}/plate/{reading_id}"


@router.get(_OF + "/spectrum.{form}")
def spectrum(request: Request, pair_id: int, reading_id: int, form: ChartForm) -> Response:
    """A reading's spectrum with its named peaks."""
    label, read, _ = _tapped(request, pair_id, reading_id)
    shop: Shop = request.app.state.shop
    kept = shop.made.path(drawn_key(reading_id))
    heard = heard_of(kept.read_bytes()) if kept.is_file() else None
    peaks = read.document.peaks
    if not peaks:
        raise Missing("this reading has no peaks", do="tap it")
    most = max(peak.hz for peak in peaks) * 2.2
    curve = heard.curve if heard and heard.curve else fitted_curve(peaks, peaks[0].hz / 2, most)
    lines: list[PeakLine] = [(p.hz, p.level_db, "" if p.mode == "other" else p.mode) for p in peaks]
    return chart_file(spectrum_figure(f"{label}: taps", curve, lines), form, f"{label}-spectrum")


@router.post("/bench/plate/spectrum")
def spectrum_alone(
    form: Annotated[ChartForm, Form()], heard_text: Annotated[str, Form(max_length=400_000)]
) -> Response:
    """The spectrum of a plate without a pair, from what its page holds."""
    heard = heard_of(heard_text)
    if heard is None or not heard.curve:
        raise Mistake("nothing was heard", where="recordings", do="tap it again")
    lines: list[PeakLine] = [(peak.hz, peak.level_db, "") for peak in heard.reading.peaks]
    return chart_file(spectrum_figure("Taps", heard.curve, lines), form, "spectrum")


@router.get(_OF + "/modes.{form}")
def modes(request: Request, pair_id: int, reading_id: int, form: ChartForm) -> Response:
    """The plate drawn once a mode."""
    label, read, species = _tapped(request, pair_id, reading_id)
    document = read.document
    size = document.size
    if document.kind != "plate" or not size.weight_g or document.e_along_mpa is None:
        raise Missing("no mode of this piece was told", do="name its peaks")
    piece = Piece(size.length_mm, size.width1_mm, size.width2_mm, size.thickness_mm, size.weight_g)
    wood = wood_named(read.says.get("species")) or wood_named(species)
    named = named_modes(piece, elastic_of(document, wood), surroundings(piece))
    heard: dict[str, float] = {peak.mode: peak.hz for peak in document.peaks if peak.mode != "other"}
    figure = modes_figure(f"{label}: modes", piece, {name: named.modes[name] for name in NAMES}, heard)
    return chart_file(figure, form, f"{label}-modes")


@router.get(_OF + "/cloud.{form}")
def cloud(request: Request, pair_id: int, reading_id: int, form: ChartForm) -> Response:
    """This plate among the shop's past ones."""
    label, read, _ = _tapped(request, pair_id, reading_id)
    shop: Shop = request.app.state.shop
    document: TapDocument = read.document
    if not document.density_kg_m3 or not document.e_along_mpa:
        raise Missing("this reading tells nothing along the grain", do="name its peaks")
    with shop.read() as session:
        past = [one for one in past_plates(session) if one.reading_id != reading_id]
    figure = cloud_figure(f"{label} among past plates", document, past)
    return chart_file(figure, form, f"{label}-cloud")


@router.get(_OF + "/map.{form}")
def thickness_map(request: Request, pair_id: int, reading_id: int, form: ChartForm) -> Response:
    """What is left to take where."""
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    with shop.read() as session:
        label = pair(session, pair_id).label
        rows = readings(session, pair_id=pair_id, verb=THICKNESS)
        found = next((row.document for row in rows if row.id == reading_id), None)
    if found is None:
        raise Missing("there is no such map", do="type readings on the pair's page")
    document = ThicknessDocument.model_validate(found)
    per_mm, words = (1 / MM_PER_INCH, "inches") if unit == "inch" else (1.0, "mm")
    target = f"{document.target_mm * per_mm:.{2 if unit == 'mm' else 3}f} {words}"
    figure = map_figure(f"{label}: left over {target}, neck end on top", document, per_mm, words)
    return chart_file(figure, form, f"{label}-thickness")


def _tapped(request: Request, pair_id: int, reading_id: int) -> tuple[str, PlateRead, str]:
    """The pair's label, one of its readings by taps, its wood.

    Raises:
        Missing: there is none.
    """
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = pair(session, pair_id)
        read = plate_readings(session, pair_id)
        one = next((row for row in read if row.id == reading_id and row.verb == TAP), None)
        label, species = found.label, found.species_common
    if one is None:
        raise Missing("there is no such reading", do="look at the pair's page")
    return label, one, species or ""
