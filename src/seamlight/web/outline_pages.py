"""Shop, Outlines: which shapes every pair is laid out for, drawings of one's own, full-size sheets."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Any, Literal

import numpy as np
from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.outline import area_m2, half_perimeter_mm, widths
from seamlight.outline.drawing import DrawnUnit
from seamlight.outline.shape import Outline
from seamlight.sheets.outline import sheet_outline
from seamlight.shop.file_rows import add_row
from seamlight.shop.outlines import (
    built,
    drop_outline,
    keep_outline,
    outline,
    outline_names,
    own_outlines,
    read_drawing,
    set_built,
    suffix_of,
)
from seamlight.shop.shop import Shop
from seamlight.web.access import Asks
from seamlight.web.render import again, go, house_of, page
from seamlight.web.side_process import Bounds, Failed, TooMuch
from seamlight.web.uploads import plain_name
from seamlight.web.work import compute_now

router = APIRouter()

HERE = "/shop/outlines"
UNITS = (("", "as the file says"), ("mm", "mm"), ("cm", "cm"), ("inch", "inch"))
SHEETS = {"pdf": "application/pdf", "dxf": "image/vnd.dxf", "svg": "image/svg+xml"}
MOST_BYTES = 4 << 20
BOUNDS = Bounds(seconds=40, memory_bytes=1 << 30)


@router.get(HERE, include_in_schema=False)
def show(request: Request) -> HTMLResponse:
    """Every outline, drawn small."""
    return page(request, "outlines.html", mistake=None, **_facts(request))


def _facts(request: Request) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        own, chosen = own_outlines(session), built(session)
        bodies = [outline(session, shop.files, name) for name in outline_names(session)]
    return {
        "title": "Outlines",
        "place": "shop",
        "shapes": [_shape(body, body.name in own, body.name in chosen) for body in bodies],
        "units": UNITS,
    }


def _shape(body: Outline, own: bool, chosen: bool) -> dict[str, Any]:
    """What the page shows of one outline; its path in mm, centre line at x = 0."""
    right = np.asarray(body.half_mm, dtype=float)
    left = right if body.left_half_mm is None else np.asarray(body.left_half_mm, dtype=float)
    ring = np.vstack([right, left[::-1] * (-1.0, 1.0)])
    half = float(np.abs(ring[:, 0]).max())
    return {
        "name": body.name,
        "own": own,
        "built": chosen,
        "path": "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring[:: max(1, len(ring) // 240)]) + "Z",
        "box": f"{-half - 4:.0f} -4 {2 * half + 8:.0f} {body.length_mm + 8:.0f}",
        "length_mm": body.length_mm,
        "widths": widths(body),
        "half_perimeter_mm": half_perimeter_mm(body),
        "area_m2": area_m2(body),
    }


@router.post(HERE + "/built", include_in_schema=False)
async def choose(request: Request, asker: Asks) -> Response:
    """Which outlines every pair is laid out for."""
    shop: Shop = request.app.state.shop
    wanted = [str(value) for value in (await request.form()).getlist("built")]
    try:
        with shop.change(asker.name) as change:
            set_built(change, wanted)
    except Mistake as mistake:
        return again(request, "outlines.html", mistake, **_facts(request))
    return go(request, HERE, "Kept. Pairs read from now on are laid out for these.")


@router.post(HERE, include_in_schema=False)
def add(
    request: Request,
    asker: Asks,
    drawing: UploadFile,
    name: Annotated[str, Form(max_length=40)] = "",
    unit: Annotated[Literal["", "mm", "cm", "inch"], Form()] = "",
) -> Response:
    """A drawing of one's own."""
    shop: Shop = request.app.state.shop
    drawn_unit: DrawnUnit | None = unit or None
    try:
        given = plain_name(drawing.filename)
        suffix = suffix_of(given)
        data = drawing.file.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise Mistake("is over 4 MB", where=given, do="export the outline alone")
        with TemporaryDirectory() as folder:
            path = Path(folder) / "outline"
            path.write_bytes(data)
            body = _read(request, path, name or Path(given).stem, suffix, drawn_unit)
        sha = shop.files.keep(data, "application/octet-stream")
        with shop.change(asker.name) as change:
            add_row(change, sha, "application/octet-stream", len(data))
            keep_outline(change, name or Path(given).stem, sha, suffix, drawn_unit, body)
    except Mistake as mistake:
        return again(request, "outlines.html", mistake, **_facts(request))
    said = f"{body.length_mm:.1f} mm long, {2 * float(np.abs(body.half_mm[:, 0]).max()):.1f} mm wide"
    return go(request, HERE, f"Kept: {said}. Is that right? If not, say the drawing's unit.")


def _read(request: Request, path: Path, name: str, suffix: str, unit: DrawnUnit | None) -> Outline:
    """A drawing from outside, read beside the server: it may be made to swell beyond all bounds."""
    try:
        body: Outline = compute_now(request.app, read_drawing, path, name, suffix, unit, bounds=BOUNDS)
    except TooMuch as much:
        raise Mistake(much.what, where=name, do="export the outline alone, as one simple line") from much
    except Failed as failed:
        raise Mistake("cannot be read", where=name, do="export the outline alone, as plain lines") from failed
    return body


@router.post(HERE + "/drop", include_in_schema=False)
def forget(request: Request, asker: Asks, name: Annotated[str, Form(max_length=40)]) -> Response:
    """Forget a drawing of one's own."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        drop_outline(change, name)
    return go(request, HERE, f"{name} is no longer listed.")


@router.get(HERE + "/sheet", include_in_schema=False)
def sheet(
    request: Request,
    name: str,
    kind: Literal["pdf", "dxf", "svg"] = "pdf",
    paper: Literal["a4", "letter", "a3", "roll"] = "a4",
    half: bool = False,
) -> Response:
    """An outline at full size."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        body = outline(session, shop.files, name)
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"outline.{kind}"
        sheet_outline(body, path, paper=paper, half=half, unit=house_of(request).unit)
        data = path.read_bytes()
    how = "inline" if kind == "pdf" else "attachment"
    headers = {"content-disposition": f'{how}; filename="outline.{kind}"'}
    return Response(data, media_type=SHEETS[kind], headers=headers)
