"""Shop, Labels: sheets of labels for pairs and leaves, by the measures of the sheet in hand."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any, cast

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.sheets.label_sheet import A4_3_BY_8, LETTER_3_BY_10, LabelSheet
from seamlight.sheets.labels import label_sheets
from seamlight.sheets.pair_labels import Which
from seamlight.sheets.shop_labels import labels_of
from seamlight.shop.label_facts import pairs_named
from seamlight.shop.settings import keep_setting, setting
from seamlight.shop.shop import Shop
from seamlight.units import Unit, parse_length, show_length
from seamlight.web.access import Asks
from seamlight.web.render import again, go, house_of, page
from seamlight.web.serving import Serving

router = APIRouter(include_in_schema=False)

SETTING_KEY = "label sheet"
WHICH = (
    ("both", "each pair and its two leaves"),
    ("pair", "each pair"),
    ("leaves", "the two leaves of each pair"),
)
MEASURES = (
    ("page_wide", "Paper, wide"),
    ("page_high", "Paper, high"),
    ("left", "Left margin, to the first label"),
    ("top", "Upper margin, to the first label"),
    ("wide", "Label, wide"),
    ("high", "Label, high"),
    ("pitch_across", "From one label's left edge to the next one's"),
    ("pitch_down", "From one label's upper edge to the next one's"),
)
COUNTS = (("across", "Labels across"), ("down", "Labels down"))


@router.get("/shop/labels")
def show(request: Request) -> HTMLResponse:
    """What to label, and the measures of the sheet."""
    return page(request, "labels.html", mistake=None, **_facts(request, None))


@router.post("/shop/labels")
async def keep(request: Request, asker: Asks) -> Response:
    """Keep the measures of the sheet."""
    shop: Shop = request.app.state.shop
    typed = {name: str(value) for name, value in (await request.form()).items()}
    try:
        sheet = _sheet(typed, house_of(request).unit)
        with shop.change(asker.name) as change:
            keep_setting(change, SETTING_KEY, _kept(sheet))
    except Mistake as mistake:
        return again(request, "labels.html", mistake, **_facts(request, typed))
    return go(request, "/shop/labels", f"Kept: {sheet.places} labels a sheet.")


@router.post("/shop/labels/{paper}")
def usual(request: Request, asker: Asks, paper: str) -> Response:
    """The usual measures of a paper."""
    shop: Shop = request.app.state.shop
    sheet = LETTER_3_BY_10 if paper == "letter" else A4_3_BY_8
    with shop.change(asker.name) as change:
        keep_setting(change, SETTING_KEY, _kept(sheet))
    return go(
        request,
        "/shop/labels",
        f"{sheet.across} by {sheet.down} labels; hold a trial print against your sheet.",
    )


@router.get("/wood/labels.pdf")
def print_labels(
    request: Request, pairs: str = "", which: str = "both", first: str = "1", trial: str = ""
) -> Response:
    """The labels as a PDF at full size; without pairs, those of the whole rack."""
    shop: Shop = request.app.state.shop
    serving: Serving = request.app.state.serving
    if which not in dict(WHICH):
        raise Mistake(f"{which!r} is no kind of label", where="which", do="choose one of the list")
    if not first.strip().isdecimal():
        raise Mistake(f"{first!r} is no place", where="first free place", do="count from 1, along the rows")
    with shop.read() as session:
        sheet = sheet_of(setting(session, SETTING_KEY))
        named = pairs_named(session, pairs[:4000])
        labels = labels_of(session, named, serving.address, cast(Which, which))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "labels.pdf"
        label_sheets(labels, sheet, path, first=int(first), frames=bool(trial))
        data = path.read_bytes()
    headers = {"content-disposition": 'inline; filename="labels.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


def sheet_of(kept: Any) -> LabelSheet:
    """The sheet as it is kept; the usual A4 one where none is."""
    if not kept:
        return A4_3_BY_8
    return LabelSheet(
        page_mm=(kept["page_wide"], kept["page_high"]),
        left_mm=kept["left"],
        top_mm=kept["top"],
        label_mm=(kept["wide"], kept["high"]),
        pitch_mm=(kept["pitch_across"], kept["pitch_down"]),
        across=kept["across"],
        down=kept["down"],
    )


def _kept(sheet: LabelSheet) -> dict[str, float]:
    wide, high = sheet.label_mm
    return {
        "page_wide": sheet.page_mm[0],
        "page_high": sheet.page_mm[1],
        "left": sheet.left_mm,
        "top": sheet.top_mm,
        "wide": wide,
        "high": high,
        "pitch_across": sheet.pitch_mm[0],
        "pitch_down": sheet.pitch_mm[1],
        "across": sheet.across,
        "down": sheet.down,
    }


def _sheet(typed: dict[str, str], unit: Unit) -> LabelSheet:
    """The sheet as it was typed.

    Raises:
        Mistake: a measure that is none, or labels that don't lie on the paper.
    """
    measures = {name: parse_length(typed.get(name, ""), unit, where=name) for name, _ in MEASURES}
    counts = {}
    for name, _ in COUNTS:
        said = typed.get(name, "").strip()
        if not said.isdecimal() or not 0 < int(said) <= 100:
            raise Mistake(f"{said!r} is no number of labels", where=name, do="count them")
        counts[name] = int(said)
    return sheet_of(measures | counts).checked()


def _facts(request: Request, typed: dict[str, str] | None) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    serving: Serving = request.app.state.serving
    unit = house_of(request).unit
    with shop.read() as session:
        sheet = sheet_of(setting(session, SETTING_KEY))
    shown = {
        name: str(value) if name in dict(COUNTS) else _typed(float(value), unit)
        for name, value in _kept(sheet).items()
    }
    return {
        "title": "Labels",
        "place": "shop",
        "typed": typed or shown,
        "sheet": sheet,
        "which": WHICH,
        "measures": MEASURES,
        "counts": COUNTS,
        "address": serving.address,
        "shared": serving.share,
        "pairs": request.query_params.get("pairs", "")[:400],
    }


def _typed(length_mm: float, unit: Unit) -> str:
    """A measure as it would be typed, to a hundredth of a millimetre."""
    return f"{length_mm / 25.4:.4g} in" if unit == "inch" else show_length(length_mm, "mm", 2)
