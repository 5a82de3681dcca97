"""Shop, Grades: the shop's own thresholds, and the whole rack graded by them with the reasons."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from sqlalchemy import func, select
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.shop.grade_rules import (
    FLAW_ZONES,
    LEAST,
    MOST,
    SETTING_KEY,
    STANDING,
    STARTING_RULES,
    USES,
    WORDS,
    GradeRules,
    GradeStep,
    rules_from,
)
from seamlight.shop.grading import Graded, graded, keep_rules, shop_rules
from seamlight.shop.settings import setting_version
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import rack_key
from seamlight.units import Unit, parse_length, show_length
from seamlight.web.access import Asks
from seamlight.web.render import again, go, house_of, page
from seamlight.web.versions import version_typed

router = APIRouter(include_in_schema=False)

PER_PAGE = 40
MOST_STEPS = 8
UNITS = {
    "lines_per_inch": "per inch, at least",
    "ring_to_face_deg": "degrees, at least",
    "spread_deg": "degrees, at most",
    "tilt_deg": "degrees, at most",
    "runout_deg": "degrees, at most",
    "unevenness": "widest over tightest, at most",
    "two_tone_pct": "%, at most",
    **dict.fromkeys(FLAW_ZONES.values(), "longest, at most; 0 for none"),
    "cracks": "let pass",
}
FIELDS = (*LEAST, *MOST, *FLAW_ZONES.values(), "cracks")


@dataclass(frozen=True)
class Line:
    """A pair of the rack with its grade."""

    pair: Pair
    found: Graded | None
    picture: str


@router.get("/shop/grades")
def show(request: Request) -> HTMLResponse:
    """The thresholds as they are."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        rules, version = shop_rules(session), setting_version(session, SETTING_KEY)
    typed = _typed_of(rules, house_of(request).unit)
    return page(request, "grades.html", mistake=None, **_facts(typed, version))


@router.post("/shop/grades")
async def keep(request: Request, asker: Asks) -> Response:
    """Keep the thresholds and grade the whole rack anew."""
    shop: Shop = request.app.state.shop
    typed = {name: str(value) for name, value in (await request.form()).items()}
    version = version_typed(typed.get("version", ""))
    try:
        rules = _rules(typed, house_of(request).unit)
        with shop.change(asker.name) as change:
            keep_rules(change, rules, expected_version=version)
    except Conflict:
        raise
    except Mistake as mistake:
        return again(request, "grades.html", mistake, **_facts(typed, max(version, 0)))
    return go(request, "/shop/grades", "Kept; the whole rack is graded anew.")


@router.post("/shop/grades/start")
def start_over(request: Request, asker: Asks) -> Response:
    """Back to the values one starts from."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        keep_rules(change, STARTING_RULES)
    return go(request, "/shop/grades", "The starting values are back; the whole rack is graded anew.")


@router.get("/shop/grades/rack")
def show_rack(request: Request) -> HTMLResponse:
    """Every top and back with its grade and what held it back."""
    shop: Shop = request.app.state.shop
    asked = request.query_params.get("page", "1")
    number = int(asked) if asked.isdecimal() else 1
    live = select(Pair).where(Pair.deleted_at.is_(None), Pair.kind.in_(USES))
    with shop.read() as session:
        total = session.scalar(select(func.count()).select_from(live.subquery())) or 0
        pages = max(1, -(-total // PER_PAGE))
        number = min(max(number, 1), pages)
        rules, unit = shop_rules(session), house_of(request).unit
        order = live.order_by(Pair.kind.desc(), func.length(Pair.label_key), Pair.label_key)
        rows = list(session.scalars(order.offset((number - 1) * PER_PAGE).limit(PER_PAGE)))
        lines = [Line(pair, graded(session, pair, rules, unit), _picture(shop, pair)) for pair in rows]
    return page(
        request,
        "graded.html",
        title="The rack graded",
        place="shop",
        lines=lines,
        total=total,
        number=number,
        pages=pages,
    )


def _picture(shop: Shop, pair: Pair) -> str:
    key = rack_key(pair.id)
    return f"/made/{key}" if shop.made.path(key).is_file() else ""


def _facts(typed: dict[str, str], version: int) -> dict[str, Any]:
    return {
        "title": "Grades",
        "place": "shop",
        "typed": typed,
        "version": version,
        "uses": USES,
        "columns": {use: range(_count(typed, use) + 1) for use in USES},
        "fields": FIELDS,
        "words": WORDS,
        "units": UNITS,
        "standing": STANDING,
    }


def _count(typed: dict[str, str], use: str) -> int:
    """How many grades have a name, up to the last one that has."""
    named = [i for i in range(MOST_STEPS) if typed.get(f"{use}-{i}-name", "").strip()]
    return min(max(named, default=-1) + 1, MOST_STEPS - 1)


def _typed_of(rules: GradeRules, unit: Unit) -> dict[str, str]:
    typed = {"below": rules.below}
    for use in USES:
        for i, step in enumerate(rules.steps(use)):
            typed[f"{use}-{i}-name"] = step.name
            for field in FIELDS:
                typed[f"{use}-{i}-{field}"] = _shown(field, getattr(step, field), unit)
    return typed


def _shown(field: str, value: float | bool | None, unit: Unit) -> str:
    if field == "cracks":
        return "yes" if value else ""
    if value is None:
        return ""
    if field in FLAW_ZONES.values() and unit == "inch" and value:
        return show_length(value, "inch").split(" (")[0]
    return f"{value:g}"


def _rules(typed: dict[str, str], unit: Unit) -> GradeRules:
    """The rules as they were typed; a grade without a name is left out.

    Raises:
        Mistake: a figure that is none, or grades that make no sense.
    """
    steps: dict[str, list[dict[str, Any]]] = {use: [] for use in USES}
    for use in USES:
        for i in range(MOST_STEPS):
            name = " ".join(typed.get(f"{use}-{i}-name", "").split())
            if name:
                steps[use].append({"name": name} | _step(typed, f"{use}-{i}", name, unit))
        if not steps[use]:
            raise Mistake(f"no grade for a {use} has a name", where=use, do="name at least one")
    return rules_from({**steps, "below": " ".join(typed.get("below", "").split()) or "Practice"})


def _step(typed: dict[str, str], at: str, name: str, unit: Unit) -> dict[str, Any]:
    found: dict[str, Any] = {"cracks": bool(typed.get(f"{at}-cracks"))}
    for field in GradeStep.model_fields:
        text = typed.get(f"{at}-{field}", "").strip()
        if field in ("name", "cracks") or not text:
            continue
        where = f"{name}: {WORDS[field]}"
        if field in FLAW_ZONES.values():
            found[field] = parse_length(text, unit, where=where)
        elif re.fullmatch(r"\d{1,4}(?:[.,]\d{1,4})?", text):
            found[field] = float(text.replace(",", "."))
        else:
            raise Mistake(
                f"{text!r} is no number", where=where, do="write it like 15 or 1.5, or leave it empty"
            )
    return found
