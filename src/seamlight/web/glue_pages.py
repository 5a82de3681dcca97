"""Shop, Glue times: how long each glue wants, where that is from, and the shop's own figures."""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.shop.clamps import shop_glues
from seamlight.shop.glues import OWN, SETTING_KEY, Glue, Span, glues_from
from seamlight.shop.settings import keep_setting, setting, setting_version
from seamlight.shop.shop import Shop
from seamlight.web.access import Asks
from seamlight.web.render import again, go, page
from seamlight.web.versions import version_typed

router = APIRouter(include_in_schema=False)

MOST_MIN = 365 * 1440.0
SPANS = (
    ("clamp", "in the clamps"),
    ("work", "before it is planed or stressed"),
    ("rest", "before it is thicknessed"),
)
_PER_MIN = {
    "min": 1.0,
    "m": 1.0,
    "h": 60.0,
    "hour": 60.0,
    "hours": 60.0,
    "d": 1440.0,
    "day": 1440.0,
    "days": 1440.0,
}


@router.get("/shop/glue")
def show(request: Request) -> HTMLResponse:
    """The glues as they are."""
    return page(request, "glue.html", mistake=None, typed={}, **_facts(request))


@router.post("/shop/glue")
async def keep(request: Request, asker: Asks) -> Response:
    """The shop's own figures for one glue, or for a glue of its own."""
    shop: Shop = request.app.state.shop
    typed = {name: str(value) for name, value in (await request.form()).items()}
    try:
        own = _glue(typed)
        with shop.change(asker.name) as change:
            kept = setting(change.session, SETTING_KEY) or []
            rows = [row for row in kept if row.get("key") != own.key] + [own.model_dump(mode="json")]
            glues_from(rows)
            keep_setting(change, SETTING_KEY, rows, expected_version=version_typed(typed.get("version", "")))
    except Conflict:
        raise
    except Mistake as mistake:
        return again(request, "glue.html", mistake, typed=typed, **_facts(request))
    return go(
        request,
        "/shop/glue",
        f"Your figures for {own.name} are kept. What is in the clamps stays as promised.",
    )


@router.post("/shop/glue/{key}/forget")
def forget(request: Request, asker: Asks, key: str) -> Response:
    """Give up the shop's own figures for one glue."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        kept = setting(change.session, SETTING_KEY) or []
        keep_setting(change, SETTING_KEY, [row for row in kept if row.get("key") != key])
    return go(request, "/shop/glue", "Your own figures are given up.")


def _facts(request: Request) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        glues, version = shop_glues(session), setting_version(session, SETTING_KEY)
    return {
        "title": "Glue times",
        "place": "shop",
        "glues": [(glue, [(name, words, getattr(glue, name)) for name, words in SPANS]) for glue in glues],
        "version": version,
        "spans": SPANS,
        "own": OWN,
        "shown": shown_minutes,
    }


def shown_minutes(minutes: float) -> str:
    """A time as it would be typed: `45 min`, `24 h`, `7 days`.

    >>> [shown_minutes(m) for m in (45, 90, 1440, 10080, 100)]
    ['45 min', '1.5 h', '24 h', '7 days', '100 min']
    """
    if minutes >= 2880 and minutes % 720 == 0:
        return f"{minutes / 1440:g} days"
    return f"{minutes / 60:g} h" if minutes >= 60 and minutes % 30 == 0 else f"{minutes:g} min"


def parse_minutes(typed: str, *, where: str) -> float:
    """Minutes of `45`, `45 min`, `1,5 h`, `3 days`.

    Raises:
        Mistake: it is no time.
    """
    found = re.fullmatch(r"\s*(\d{1,5}(?:[.,]\d{1,3})?)\s*([a-z]*)\s*", typed.lower())
    if found is None or (found[2] or "min") not in _PER_MIN:
        raise Mistake(f"{typed!r} is no time", where=where, do="write it like 45 min, 24 h or 7 days")
    minutes = float(found[1].replace(",", ".")) * _PER_MIN[found[2] or "min"]
    if not 0 < minutes <= MOST_MIN:
        raise Mistake(
            f"{typed!r} is no time to wait", where=where, do="say more than nothing and at most a year"
        )
    return minutes


def _glue(typed: dict[str, str]) -> Glue:
    name = " ".join(typed.get("name", "").split())[:40]
    key = typed.get("key", "").strip() or re.sub(r"[^a-z0-9]+", " ", name.lower()).strip()[:32]
    if not name or not key:
        raise Mistake("a glue has a name", where="name", do="write one in plain letters")
    spans = {span: _span(typed, span) for span, _ in SPANS}
    known = next((glue for glue in glues_from(None) if glue.key == key), None)
    return Glue(
        key=key,
        name=name,
        clamp=spans["clamp"],
        work=spans["work"],
        rest=spans["rest"],
        least_temp_c=known.least_temp_c if known else None,
        most_rh_pct=known.most_rh_pct if known else None,
        most_wood_mc_pct=known.most_wood_mc_pct if known else None,
    ).checked()


def _span(typed: dict[str, str], name: str) -> Span:
    least = parse_minutes(typed.get(f"{name}-least", ""), where=f"{name}-least")
    said = typed.get(f"{name}-usual", "").strip()
    usual = parse_minutes(said, where=f"{name}-usual") if said else least
    return Span(least_min=least, usual_min=usual)
