"""A joint that belongs to no pair: pictures or typed readings, read and shown, nothing kept."""

from __future__ import annotations

from typing import Annotated, Literal
from uuid import uuid4

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.seam import judge_readings, parse_readings
from seamlight.seam.document import SeamDocument
from seamlight.shop.shop import Shop
from seamlight.web.once import sweep_once
from seamlight.web.render import again, house_of, page
from seamlight.web.seam_asked import asked_of, length_typed, read_pictures, taken
from seamlight.web.seam_feelers import readings_text
from seamlight.web.seam_light_forms import Neck, Places, Text
from seamlight.web.seam_show import ALONE, PAGE, bench_alone, facts_alone

router = APIRouter(include_in_schema=False)
Rows = Annotated[str, Form(max_length=20_000)]
Many = Annotated[list[str] | None, Form()]


@router.get(ALONE)
def show(request: Request) -> HTMLResponse:
    """A reading without a pair."""
    return page(request, PAGE, mistake=None, **facts_alone(request))


@router.post(ALONE)
def shoot(
    request: Request,
    photos: list[UploadFile],
    lamp: UploadFile | None = None,
    length: Text = "",
    shims: Text = "",
    distance: Text = "",
    neck_at: Neck = "left",
    ends: Places = "",
    middle: Places = "",
    thickness: Text = "",
    width: Text = "",
    faces: Rows = "",
) -> Response:
    """Pictures of a joint, and what was felt on both its faces."""
    typed = {"length": length, "shims": shims, "distance": distance, "neck_at": neck_at}
    typed |= {"ends": ends, "middle": middle, "thickness": thickness, "width": width, "faces": faces}
    shop: Shop = request.app.state.shop
    try:
        bench = bench_alone(request, typed)
        felt = parse_readings(faces, house_of(request).unit, where="faces") if faces.strip() else None
        pictures, bare = taken(request, photos, lamp)
        asked = asked_of(request, typed, None, len(pictures))
        found = read_pictures(request, pictures, bare, asked, bench, felt)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts_alone(request, typed))
    key = f"once-{uuid4()}.jpg"
    sweep_once(shop)
    shop.made.keep(key, found.straight)
    return page(request, PAGE, mistake=None, **facts_alone(request, typed, found.document, f"/made/{key}"))


@router.post(f"{ALONE}/readings")
def type_in(
    request: Request,
    table: UploadFile | None = None,
    readings: Rows = "",
    of: Annotated[Literal["joint", "one-edge", "folded"], Form()] = "joint",
    length: Text = "",
    thickness: Text = "",
    width: Text = "",
    place: Many = None,
    front: Many = None,
    back: Many = None,
) -> Response:
    """Straightedge and feeler readings, as lines, as a CSV file, or in the table of both faces."""
    typed = {"readings": readings, "of": of, "length": length, "thickness": thickness, "width": width}
    unit = house_of(request).unit
    try:
        bench = bench_alone(request, typed)
        text, own = readings_text(readings, table, [place or [], front or [], back or []], unit)
        said = parse_readings(text, own, where="readings")
        meaning = judge_readings(said, bench, of=of, length_mm=length_typed(typed, "length", unit))
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts_alone(request, typed))
    document = SeamDocument.of_meaning(meaning, bench)
    return page(request, PAGE, mistake=None, **facts_alone(request, typed, document))
