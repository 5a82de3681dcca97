"""Pictures and sheets of a pair: each opening as it will look, the chosen one large, the marking sheet."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Literal

import numpy as np
from fastapi import APIRouter, Query, Request
from starlette.responses import FileResponse, Response

from seamlight.layout.opening import Layout, Opening
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.kept_flat import kept_flat
from seamlight.sheets.marking import PAPERS, marking_sheet
from seamlight.sheets.opened import Look, Pictures, fitted_opening
from seamlight.sheets.opened_svg import opened_svg
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.picture_file import save_picture
from seamlight.shop.flaw_edits import FaceName
from seamlight.shop.look import jpeg
from seamlight.shop.missing import Missing
from seamlight.shop.pair_wood import PairWood, flat_picture, leaf_of
from seamlight.shop.shop import Shop
from seamlight.web.files import disposition
from seamlight.web.pair_bench import Bench, bench
from seamlight.web.render import house_of

router = APIRouter(prefix="/wood/pairs", include_in_schema=False)

PANEL_PX = (560.0, 900.0)
LARGE_PX = (1600.0, 2400.0)
ANEW = {"cache-control": "private, no-cache"}


@router.get("/{pair_id}/opening-{number}.jpg")
def opening_picture(request: Request, pair_id: int, number: int, outline: str | None = None) -> Response:
    """One opening as it will look book-matched; made when it is first asked for, then kept."""
    shop: Shop = request.app.state.shop
    laid = _laid(request, pair_id, outline)
    shown = next((one for one in laid.found if one.number == number), None)
    if shown is None:
        raise Missing(f"there is no opening {number}", do="look at the pair's page")
    key = opening_key(laid, number, house_of(request).unit)
    path = shop.made.path(key)
    if not path.is_file():
        pictures = pictures_of(shop, laid.wood)
        drawn = fitted_opening(
            layout_of(laid, shown.opening), 0, pictures, PANEL_PX, Look(1.3, 17), house_of(request).unit
        )
        shop.made.keep(key, jpeg(np.asarray(drawn.convert("RGB"), np.uint8), quality=86))
    return FileResponse(path, media_type="image/jpeg", headers=ANEW)


@router.get("/{pair_id}/picture.{form}")
def picture(
    request: Request, pair_id: int, form: Literal["png", "jpg", "svg"], outline: str | None = None
) -> Response:
    """The pair opened as it is laid now, large, for a lesson or a handout."""
    shop: Shop = request.app.state.shop
    laid = _laid(request, pair_id, outline)
    layout = layout_of(laid, laid.judge(laid.placing))
    pictures = pictures_of(shop, laid.wood)
    unit = house_of(request).unit
    name = f"{laid.pair.label}-{laid.outline.name}".replace(" ", "-")
    if form == "svg":
        return _saved(opened_svg(layout, 0, pictures, unit).encode(), "image/svg+xml", f"{name}.svg")
    drawn = np.asarray(
        fitted_opening(layout, 0, pictures, LARGE_PX, Look(2.4, 34), unit).convert("RGB"), np.uint8
    )
    if form == "jpg":
        return Response(jpeg(drawn), media_type="image/jpeg", headers=ANEW)
    return _saved(_png(drawn), "image/png", f"{name}.png")


@router.get("/{pair_id}/openings.png")
def all_openings(request: Request, pair_id: int, outline: str | None = None) -> Response:
    """All openings side by side with their reasons."""
    shop: Shop = request.app.state.shop
    laid = _laid(request, pair_id, outline)
    if not laid.found:
        raise Missing("this outline was not searched yet", do="have it laid out first")
    layout = layout_of(laid, *(one.opening for one in laid.found))
    pictures = pictures_of(shop, laid.wood)
    drawn = openings_picture(
        layout,
        pictures.a,
        pictures.b,
        units=house_of(request).unit,
        other_a=pictures.other_a,
        other_b=pictures.other_b,
    )
    return _saved(_png(drawn), "image/png", f"{laid.pair.label}-openings.png")


@router.get("/{pair_id}/marking.pdf")
def marking(
    request: Request,
    pair_id: int,
    outline: str | None = None,
    paper: Annotated[str, Query(max_length=10)] = "a4",
) -> Response:
    """The marking sheet of exactly the choice; of the best opening where nothing was chosen."""
    if paper not in PAPERS:
        raise Mistake(f"there is no paper {paper}", where="paper", do=f"choose one of {', '.join(PAPERS)}")
    shop: Shop = request.app.state.shop
    laid = _laid(request, pair_id, outline)
    pictures = pictures_of(shop, laid.wood)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "marking.pdf"
        marking_sheet(
            layout_of(laid, laid.judge(laid.placing)),
            0,
            pictures.a,
            pictures.b,
            path,
            paper=paper,
            units=house_of(request).unit,
            label=laid.pair.label,
            made_on=shop.clock().astimezone(house_of(request).zone).date(),
            other_a=pictures.other_a,
            other_b=pictures.other_b,
        )
        data = path.read_bytes()
    headers = {"content-disposition": disposition("inline", f"{laid.pair.label}-marking.pdf"), **ANEW}
    return Response(data, media_type="application/pdf", headers=headers)


def layout_of(laid: Bench, *openings: Opening) -> Layout:
    """A layout of just these openings, with the remedies that the search gave where one was found."""
    wood = laid.wood
    return Layout(
        wood.a, wood.b, wood.registration, laid.body, laid.settings, openings, stands_in=wood.stands_in
    )


def opening_key(laid: Bench, number: int, unit: str) -> str:
    """What an opening's picture is kept under: of one search, one state of the flaws, one unit."""
    search = laid.layout.id if laid.layout is not None else 0
    faces = f"{laid.wood.read_id}{''.join(sorted(laid.wood.others))}"
    return f"opening-{laid.pair.id}-{search}-{faces}-{laid.wood.said}-{number}-{unit}.jpg"


def pictures_of(shop: Shop, wood: PairWood) -> Pictures:
    """The flat pictures of both leaves, as sheets take them."""
    return Pictures(
        _flat(shop, wood, "a"),
        None if wood.stands_in else _flat(shop, wood, "b"),
        _flat(shop, wood, "other_a") if "a" in wood.others else None,
        _flat(shop, wood, "other_b") if "b" in wood.others else None,
    )


def _flat(shop: Shop, wood: PairWood, face: FaceName) -> FlatLeaf:
    leaf = leaf_of(face)
    data = flat_picture(shop, wood.pair_id, face).read_bytes()
    return kept_flat(data, wood.px_per_mm[leaf], wood.a if leaf == "a" else wood.b)


def _laid(request: Request, pair_id: int, outline: str | None) -> Bench:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        laid = bench(shop, session, pair_id, outline)
    if laid is None:
        raise Missing("there is nothing to draw", do="have a top's or a back's photographs read first")
    return laid


def _png(rgb: np.ndarray) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "picture.png"
        save_picture(path, rgb)
        return path.read_bytes()


def _saved(data: bytes, media_type: str, name: str) -> Response:
    headers = {"content-disposition": disposition("attachment", name), **ANEW}
    return Response(data, media_type=media_type, headers=headers)
