"""What is typed on a pair's joint: feelers, strokes, before jointing, gluing, after the clamps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.datastructures import FormData
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.seam import parse_readings
from seamlight.shop.change import Change
from seamlight.shop.readings import delete_reading
from seamlight.shop.seam_bench import joint_length_mm, learned, note_strokes, use_figure
from seamlight.shop.seam_faces import keep_feelers
from seamlight.shop.shop import Shop
from seamlight.units import parse_length
from seamlight.web.access import Asker, Asks
from seamlight.web.render import again, go, house_of
from seamlight.web.seam_asked import length_typed
from seamlight.web.seam_before_after import (
    AFTER_TYPED,
    BEFORE_TYPED,
    note_typed_after,
    note_typed_before,
)
from seamlight.web.seam_feelers import readings_text
from seamlight.web.seam_joining import JOINING_TYPED, into_clamps
from seamlight.web.seam_show import PAGE, facts_of_pair, page_of

router = APIRouter(prefix="/wood/pairs/{pair_id}/seam", include_in_schema=False)
Text = Annotated[str, Form(max_length=60)]
Many = Annotated[list[str] | None, Form()]
MOST = 60  # letters of a field


@router.post("/readings")
def type_in(
    request: Request,
    asker: Asks,
    pair_id: int,
    table: UploadFile | None = None,
    readings: Annotated[str, Form(max_length=20_000)] = "",
    of: Annotated[Literal["joint", "one-edge", "folded"], Form()] = "joint",
    length: Text = "",
    place: Many = None,
    front: Many = None,
    back: Many = None,
) -> Response:
    """Readings of a pair's joint: typed as lines, as a CSV file, or in the table of both faces."""
    unit = house_of(request).unit
    typed = {"readings": readings, "of": of, "length": length}
    shop: Shop = request.app.state.shop

    def keep(change: Change) -> str:
        text, own = readings_text(readings, table, [place or [], front or [], back or []], unit)
        said = parse_readings(text, own, where="readings")
        length_mm = length_typed(typed, "length", unit) or joint_length_mm(change.session, pair_id)
        says = {**typed, "readings": text}
        row = keep_feelers(change, pair_id, said, unit, of=of, length_mm=length_mm, says=says)
        return "Joined to the light reading." if row.says.get("of_light") else ""

    return _kept(request, shop, asker, pair_id, typed, keep)


@router.post("/strokes")
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
    unit = house_of(request).unit
    typed = {"tool": tool, "strokes": strokes, "from": from_, "to": to}

    def keep(change: Change) -> str:
        if not strokes.strip().isdecimal():
            raise Mistake(f"{strokes!r} is no number of strokes", where="strokes", do="count them")
        start = parse_length(from_ or "0", unit, where="from")
        note_strokes(change, pair_id, tool, int(strokes), start, parse_length(to, unit, where="to"))
        return "Noted. Read the joint again: its figure follows."

    return _kept(request, request.app.state.shop, asker, pair_id, typed, keep)


@router.post("/learn")
def use_learned(request: Request, asker: Asks, pair_id: int, tool: Text) -> Response:
    """Use what this pair's readings say of a tool for every pair."""

    def keep(change: Change) -> str:
        figure = learned(change.session, pair_id, tool)
        use_figure(change, figure)
        return f"A stroke of {figure.tool} takes {figure.per_stroke_mm:.4f} mm from now on."

    return _kept(request, request.app.state.shop, asker, pair_id, {"tool": tool}, keep)


@router.post("/before")
async def before(request: Request, asker: Asks, pair_id: int) -> Response:
    """Cup, twist, moisture and weight of both leaves, as far as they were measured."""
    typed = _texts(await request.form(), BEFORE_TYPED)

    def keep(change: Change) -> str:
        note_typed_before(change, pair_id, typed, house_of(request).unit)
        return "Noted."

    return _kept(request, request.app.state.shop, asker, pair_id, typed, keep, "before")


@router.post("/glue")
async def glue_on(request: Request, asker: Asks, pair_id: int) -> Response:
    """Glue is on: into the clamps with the air of the moment; its clock runs on Today."""
    typed = _texts(await request.form(), JOINING_TYPED)
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            said = into_clamps(change, pair_id, typed)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts_of_pair(request, pair_id, typed))
    return go(request, "/", f"Glued: {said}. Its clock runs here.")


@router.post("/after")
async def after(request: Request, asker: Asks, pair_id: int) -> Response:
    """Step, centre line and joined width, as far as they were measured."""
    form = await request.form()
    typed = _texts(form, AFTER_TYPED)
    columns = [[str(one)[:MOST] for one in form.getlist(name)] for name in ("along", "left", "right")]
    shop: Shop = request.app.state.shop

    def keep(change: Change) -> str:
        found = note_typed_after(change, shop, pair_id, typed, columns, house_of(request).unit)
        return "Noted: nothing is amiss." if found.ok else "Noted. Something is amiss: see below."

    return _kept(request, shop, asker, pair_id, typed, keep, "after")


@router.post("/{reading_id}/drop")
def drop(request: Request, asker: Asks, pair_id: int, reading_id: int) -> Response:
    """Put a reading among the recently deleted."""

    def keep(change: Change) -> str:
        delete_reading(change, reading_id)
        return "Taken away; the reading before counts again."

    return _kept(request, request.app.state.shop, asker, pair_id, {}, keep)


def _texts(form: FormData, names: dict[str, str]) -> dict[str, str]:
    return {name: str(form.get(name) or "")[:MOST] for name in names}


def _kept(
    request: Request,
    shop: Shop,
    asker: Asker,
    pair_id: int,
    typed: dict[str, str],
    keep: Callable[[Change], str],
    at: str = "",
) -> Response:
    """Keep it in one change and go on; or the page again with what was typed and what is wrong."""
    try:
        with shop.change(asker.name) as change:
            said = keep(change)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts_of_pair(request, pair_id, typed))
    return go(request, page_of(pair_id) + (f"#{at}" if at else ""), said)
