"""Gluing a joint from its page: what glue, air and rig ask for; into the clamps with its air."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from seamlight.layout.opening import LayoutSettings
from seamlight.mistake import Mistake
from seamlight.seam import Bench, glue_up
from seamlight.seam.document import SeamDocument
from seamlight.seam.joining import wood_against
from seamlight.sheets.marking import marking_sheet
from seamlight.shop.change import Change
from seamlight.shop.choices import choice
from seamlight.shop.clamps import clock_of, last_clamps, shop_glues, start_clamps
from seamlight.shop.clocks import left, shown
from seamlight.shop.glue_air import air_around, air_at_glue_up
from seamlight.shop.glues import glue_of
from seamlight.shop.joint_glue import use_joint_glue
from seamlight.shop.missing import Missing
from seamlight.shop.seam_before import flat_before
from seamlight.shop.shop import Shop
from seamlight.shop.stages import move
from seamlight.shop.tables import Air
from seamlight.shop.zone import shop_zone
from seamlight.timber.glue import Glue as Facts
from seamlight.timber.glue import glue_names
from seamlight.units import Unit, show_temperature
from seamlight.web.files import disposition
from seamlight.web.pair_bench import bench as pair_bench
from seamlight.web.pair_sheets import layout_of, pictures_of
from seamlight.web.render import house_of
from seamlight.web.seam_clamps import clamp_plan
from seamlight.web.today import JOINT

JOINING_TYPED = {"glue": "", "temp": "", "rh": "", "ago": ""}
WEDGE_DEG = 5.0


def joining(
    request: Request,
    session: Session,
    document: SeamDocument | None,
    bench: Bench,
    glue: Facts,
    pair_id: int | None,
) -> dict[str, Any]:
    """What the page says of joining; `glue` is None until glue may go on.

    Raises:
        Mistake: a wedge that is none.
    """
    air = air_around(session, request.app.state.shop.clock())
    angle = _angle(request, session, pair_id)
    up = None
    if document is not None and document.verdict == "glue":
        closing = document.pull_together.pressure_mpa if document.pull_together is not None else 0.0
        weather = _weather(air)
        up = glue_up(
            bench,
            document.length_mm,
            closing_mpa=closing,
            wedge_angle_deg=angle,
            air=weather,
            glue=glue,
        )
    plan = None
    if up is not None and document is not None:
        plan = clamp_plan(up, bench, document.length_mm, house_of(request).unit)
    return {
        "glue": up,
        "clamp_plan": plan,
        "glue_choices": [(one.key, one.name) for one in shop_glues(session)],
        "known_glues": [(one.key, one.name) for one in shop_glues(session) if one.key in glue_names()],
        "joint_glue": glue,
        "angle": angle,
        "air": air,
        "wood_against": _wood_against(session, pair_id, glue) if up is not None else (),
        "clamped": _clamped(request, session, pair_id) if pair_id is not None else None,
        "wedge_sheet": pair_id is not None and choice(session, pair_id) is not None,
    }


def _weather(air: Air | None) -> tuple[float, float] | None:
    if air is None or air.temp_c is None or air.rh_pct is None:
        return None
    return air.temp_c, air.rh_pct


def _wood_against(session: Session, pair_id: int | None, glue: Facts) -> tuple[str, ...]:
    """What the leaves' moisture, as it was metered last, says against gluing."""
    if pair_id is None:
        return ()
    leaves = flat_before(session, pair_id)
    return wood_against((leaves["a"].mc_pct, leaves["b"].mc_pct), glue)


def _angle(request: Request, session: Session, pair_id: int | None) -> float:
    """The angle of the rig's wedges: as asked for, as the pair was laid out for, or slim ones."""
    typed = request.query_params.get("angle", "").strip().removesuffix("°").replace(",", ".")
    if typed:
        return wedge_angle(typed)
    chosen = choice(session, pair_id) if pair_id is not None else None
    said = (chosen.settings or {}).get("wedge_angle_deg") if chosen is not None else None
    return float(said) if said else WEDGE_DEG


def wedge_angle(typed: str) -> float:
    """Degrees as typed.

    Raises:
        Mistake: no wedge has that angle.
    """
    try:
        angle = float(typed)
    except ValueError:
        angle = 0.0
    if not 0 < angle < 45:
        raise Mistake(f"{typed!r} degrees is no wedge", where="angle", do="write degrees, such as 5")
    return angle


def _clamped(request: Request, session: Session, pair_id: int) -> dict[str, Any] | None:
    """The pair's last glue-up and its clock."""
    row = last_clamps(session, [pair_id]).get(pair_id)
    if row is None:
        return None
    zone = shop_zone(session)
    now = request.app.state.shop.clock()
    glues = shop_glues(session)
    return {
        "row": row,
        "glue": next((one.name for one in glues if one.key == row.glue_key), row.glue_key),
        "clock": clock_of(row, glues),
        "inside": row.ended_at is None,
        "at": lambda moment: shown(moment, now, zone),
        "left": lambda moment: left(moment, now),
        "now": now,
    }


def into_clamps(change: Change, pair_id: int, typed: dict[str, str]) -> str:
    """The joint is glued: into the clamps, the air of the moment with it. Returns the pair's label.

    Raises:
        Mistake: no such glue, or the air was not read.
    """
    at = change.at - timedelta(minutes=_minutes(typed["ago"]))
    air = air_at_glue_up(change, at, typed["temp"], typed["rh"])
    start_clamps(
        change,
        glue_of(typed["glue"], shop_glues(change.session)),
        pair_ids=[pair_id],
        what=JOINT,
        glued_at=at,
        temp_c=air.temp_c,
        rh_pct=air.rh_pct,
    )
    move(change, [pair_id], "joined")
    use_joint_glue(change, typed["glue"])
    return f"into the clamps, {show_temperature(air.temp_c)} and {air.rh_pct:.0f} % noted"


def _minutes(typed: str) -> float:
    if not typed.strip():
        return 0.0
    if not typed.strip().isdecimal() or int(typed) > 60 * 24 * 30:
        raise Mistake(f"{typed!r} is no number of minutes", where="ago", do="write it like 5")
    return float(typed)


def wedge_sheet(request: Request, pair_id: int, angle_deg: float, unit: Unit) -> Response:
    """The marking sheet with the lines to saw on the outer edges for wedges of this angle.

    Raises:
        Missing: the pair was not read.
    """
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        laid = pair_bench(shop, session, pair_id)
    if laid is None:
        raise Missing("there is nothing to draw", do="have the pair's photographs read first")
    settings: LayoutSettings = replace(laid.settings, wedge_angle_deg=angle_deg)
    laid = replace(laid, settings=settings)
    pictures = pictures_of(shop, laid.wood)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "wedges.pdf"
        marking_sheet(
            layout_of(laid, laid.judge(laid.placing)),
            0,
            pictures.a,
            pictures.b,
            path,
            units=unit,
            label=laid.pair.label,
            made_on=shop.clock().astimezone(house_of(request).zone).date(),
            other_a=pictures.other_a,
            other_b=pictures.other_b,
        )
        data = path.read_bytes()
    headers = {"content-disposition": disposition("inline", f"{laid.pair.label}-wedges.pdf")}
    return Response(data, media_type="application/pdf", headers=headers)
