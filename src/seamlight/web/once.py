"""Reading and laying out an upload without keeping anything; the target sheet to print."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Any, Literal
from uuid import uuid4

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from seamlight.grain.document import ReadDocument
from seamlight.layout.document import LayoutDocument
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.photographs import PairPhotographs
from seamlight.mistake import Mistake
from seamlight.sheets.light_stand import sheet_light_stand
from seamlight.sheets.target import sheet_target
from seamlight.shop.outlines import outline, outline_names
from seamlight.shop.shop import Shop
from seamlight.shop.taking_in import read_settings
from seamlight.units import parse_length
from seamlight.web.once_reading import LaidOutOnce, ReadOnce, lay_out_once, read_once
from seamlight.web.render import again, house_of, page
from seamlight.web.uploads import take_picture
from seamlight.web.work import compute_now

router = APIRouter()

TITLE = "Read without keeping"
HERE = "/wood/read"
BLANK = {"scale": "tags", "thickness": "", "outline": "", "use": "top"}
KEPT_S = 3600  # a picture of a reading lies about for an hour at most
Text = Annotated[str, Form(max_length=60)]
Use = Annotated[Literal["top", "back"], Form()]


@router.get(HERE, include_in_schema=False)
def show(request: Request) -> HTMLResponse:
    """The form."""
    return page(request, "once.html", mistake=None, **_facts(request, BLANK))


@router.post(HERE, include_in_schema=False)
def read_form(
    request: Request,
    photo_a: UploadFile,
    photo_b: UploadFile | None = None,
    scale: Text = "tags",
    thickness: Text = "",
    outline_name: Annotated[str, Form(alias="outline", max_length=60)] = "",
    use: Use = "top",
) -> Response:
    """A reading, or with an outline a layout; shown, not kept."""
    typed = {"scale": scale, "thickness": thickness, "outline": outline_name, "use": use}
    units = house_of(request).unit
    found: ReadOnce | LaidOutOnce
    try:
        if outline_name:
            found = _lay_out(request, photo_a, photo_b, scale, thickness, outline_name, use)
        else:
            found = _read(request, photo_a, scale, thickness)
    except Mistake as mistake:
        return again(request, "once.html", mistake, **_facts(request, typed))
    key = f"once-{uuid4()}.png"
    shop: Shop = request.app.state.shop
    sweep_once(shop)
    shop.made.keep(key, found.picture)
    facts: dict[str, Any] = {**_facts(request, typed), "picture": f"/made/{key}", "units": units}
    laid_out = isinstance(found, LaidOutOnce)
    facts["reading"] = None if laid_out else found.document
    facts["layout"] = found.document if laid_out else None
    return page(request, "once.html", mistake=None, **facts)


@router.post("/api/read", response_model_by_alias=True, responses={413: {}, 422: {}})
def api_read(request: Request, photo: UploadFile, scale: Text = "tags", thickness: Text = "") -> ReadDocument:
    """What one leaf says; the document of `seamlight read`. Nothing is kept."""
    return _read(request, photo, scale, thickness).document


@router.post("/api/layout", response_model_by_alias=True, responses={413: {}, 422: {}})
def api_layout(
    request: Request,
    photo_a: UploadFile,
    outline_name: Annotated[str, Form(alias="outline", min_length=1, max_length=60)],
    photo_b: UploadFile | None = None,
    scale: Text = "tags",
    thickness: Text = "",
    use: Use = "top",
) -> LayoutDocument:
    """How to open a pair; the document of `seamlight layout`. Nothing is kept."""
    return _lay_out(request, photo_a, photo_b, scale, thickness, outline_name, use).document


@router.get("/wood/target.pdf", include_in_schema=False)
def target(request: Request, paper: Literal["a4", "letter", "a3"] = "a4") -> Response:
    """The target sheet, to be printed at full size."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "target.pdf"
        sheet_target(path, paper=paper)
        data = path.read_bytes()
    headers = {"content-disposition": 'inline; filename="target.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


@router.get("/bench/light-stand.pdf", include_in_schema=False)
def light_stand(request: Request, paper: Literal["a4", "letter", "a3"] = "a4") -> Response:
    """The drawing of a stand for lamp, leaves and phone."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "light-stand.pdf"
        sheet_light_stand(path, paper=paper)
        data = path.read_bytes()
    headers = {"content-disposition": 'inline; filename="light-stand.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


def _facts(request: Request, typed: dict[str, str]) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        names = outline_names(session)
    return {
        "title": TITLE,
        "place": "wood",
        "typed": typed,
        "outlines": [("", "none: just read it"), *((name, name) for name in names)],
        "picture": "",
        "reading": None,
        "layout": None,
    }


def _read(request: Request, photo: UploadFile, scale: str, thickness: str) -> ReadOnce:
    unit = house_of(request).unit
    settings = read_settings(scale.strip(), parse_length(thickness, unit) if thickness.strip() else None)
    with _laid_down(request, photo) as (path,):
        found: ReadOnce = compute_now(request.app, read_once, path, settings, unit)
    return found


def _lay_out(
    request: Request,
    photo_a: UploadFile,
    photo_b: UploadFile | None,
    scale: str,
    thickness: str,
    name: str,
    use: Literal["top", "back"],
) -> LaidOutOnce:
    unit, shop = house_of(request).unit, request.app.state.shop
    settings = read_settings(scale.strip(), parse_length(thickness, unit) if thickness.strip() else None)
    with shop.read() as session:
        body = outline(session, shop.files, name)
    given = [photo_a] if photo_b is None or not photo_b.filename else [photo_a, photo_b]
    with _laid_down(request, *given) as paths:
        pair = PairPhotographs(paths[0], paths[1] if len(paths) > 1 else None)
        found: LaidOutOnce = compute_now(
            request.app, lay_out_once, pair, settings, body, LayoutSettings(use=use), unit
        )
    return found


@contextmanager
def _laid_down(request: Request, *photos: UploadFile) -> Iterator[list[Path]]:
    """Uploads as files of a folder that goes away; never under a name that was given."""
    with TemporaryDirectory(prefix="seamlight-") as folder:
        paths = []
        for number, photo in enumerate(photos):
            path = Path(folder) / f"photo-{number}"
            path.write_bytes(take_picture(photo, request.app.state.serving.limits).data)
            paths.append(path)
        yield paths


def sweep_once(shop: Shop) -> None:
    """Take away pictures of readings that are over an hour old."""
    for path in shop.made.folder.glob("once-*") if shop.made.folder.is_dir() else ():
        if time.time() - path.stat().st_mtime > KEPT_S:
            path.unlink(missing_ok=True)
