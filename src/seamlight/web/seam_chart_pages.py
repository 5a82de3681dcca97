"""A joint's charts as files: one reading with its strokes, and all readings one above another."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import numpy as np
from fastapi import APIRouter, Query, Request
from PIL import Image
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.shop.joint_glue import joint_glue
from seamlight.shop.missing import Missing
from seamlight.shop.seam_bench import LIGHT, JointRead, bench_of, joint_readings, passes, straight_key
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.web.chart_files import ChartForm, chart_file
from seamlight.web.render import house_of
from seamlight.web.seam_charts import Rgb, history_chart, reading_chart
from seamlight.web.seam_clamps import clamps_chart
from seamlight.web.seam_joining import joining
from seamlight.web.seam_straight import make_again

router = APIRouter(prefix="/wood/pairs/{pair_id}/seam", include_in_schema=False)


@router.get("/history.{form}")
def history(request: Request, pair_id: int, form: ChartForm) -> Response:
    """All of a pair's readings, the newest on top."""
    shop: Shop = request.app.state.shop
    house = house_of(request)
    with shop.read() as session:
        label = pair(session, pair_id).label
        read = passes(joint_readings(session, pair_id))
    if not read:
        raise Missing("no reading of this joint yet", do="shoot it on its page")
    days = [_day(one.at, house.zone) for one in read]
    figure = history_chart(f"{label}: the seam, reading by reading", read, house.unit, days)
    return chart_file(figure, form, f"{label}-seam-history")


@router.get("/clamps.{form}")
def clamps(
    request: Request, pair_id: int, form: ChartForm, glue: Annotated[str, Query(max_length=40)] = ""
) -> Response:
    """Where the clamps stand, once glue may go on."""
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    with shop.read() as session:
        label = pair(session, pair_id).label
        read = passes(joint_readings(session, pair_id))
        chosen = joint_glue(session, glue or None)
        bench = bench_of(session, pair_id, unit, chosen.key)
        facts = joining(request, session, read[-1].judged if read else None, bench, chosen, pair_id)
    if facts["clamp_plan"] is None:
        raise Missing("this joint is not ready for glue", do="look at its page")
    figure = clamps_chart(f"{label}: clamps for {facts['glue'].glue.name}", facts["clamp_plan"], unit)
    return chart_file(figure, form, f"{label}-clamps")


@router.get("/{reading_id}/chart.{form}")
def reading(request: Request, pair_id: int, reading_id: int, form: ChartForm) -> Response:
    """One reading over the one before it."""
    shop: Shop = request.app.state.shop
    house = house_of(request)
    with shop.read() as session:
        label = pair(session, pair_id).label
        read = passes(joint_readings(session, pair_id))
    number = next((i for i, one in enumerate(read) if one.id == reading_id), None)
    if number is None:
        raise Missing("there is no such reading of this joint", do="look at its page")
    one = read[number]
    in_mm = one.judged.fit_gap_mm is not None
    earlier = (past.judged for past in reversed(read[:number]))
    before = next((past for past in earlier if (past.fit_gap_mm is not None) == in_mm), None)
    day = _day(one.at, house.zone)
    figure = reading_chart(
        f"{label}: the seam, {day}", one.judged, before, _straight(request, pair_id, one), house.unit
    )
    return chart_file(figure, form, f"{label}-seam-{one.at.astimezone(house.zone):%Y-%m-%d}")


def _day(at: datetime, zone: ZoneInfo | None) -> str:
    """A file's day is a date: it is looked at years later."""
    local = at.astimezone(zone)
    return f"{local.day} {local:%B %Y, %H:%M}"


def _straight(request: Request, pair_id: int, one: JointRead) -> Rgb | None:
    """The seam laid straight; None for feelers, or where its pictures can no longer be had."""
    shop: Shop = request.app.state.shop
    path = shop.made.path(straight_key(one.id))
    if one.verb != LIGHT:
        return None
    try:
        if not path.is_file():
            make_again(request, pair_id, one.id)
    except Mistake:
        return None
    with Image.open(io.BytesIO(path.read_bytes())) as picture:
        return np.asarray(picture.convert("RGB"), np.uint8)
