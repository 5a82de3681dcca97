"""What stands on a plate's page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.outline import Outline
from seamlight.plate import RULES, TapDocument
from seamlight.plate.compare import compared
from seamlight.plate.meaning import among_past
from seamlight.shop.air import newest_air
from seamlight.shop.choices import choice
from seamlight.shop.pair_wood import shape
from seamlight.shop.plate_bench import (
    DEFLECT,
    PIECES,
    TAP,
    PastPlate,
    PieceName,
    PlateRead,
    drawn_key,
    newest_of,
    on_record,
    past_plates,
    plate_readings,
    usual_piece,
    wood_named,
)
from seamlight.shop.plate_rule import ShopRule, Use, shop_rule, targets
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.wood import pair
from seamlight.timber.species import species_names
from seamlight.units import Unit
from seamlight.web.plate_charts import cloud, spectrum_chart
from seamlight.web.plate_form import SPOTS, plain_length, said_by_record
from seamlight.web.plate_leaves import leaves_together
from seamlight.web.plate_maps import newest_map
from seamlight.web.plate_reading import Heard, heard_of, mode_drawings
from seamlight.web.recordings import ACCEPT
from seamlight.web.render import house_of

NEW = "/bench/plate"
SIZE = ("piece", "length", "width", "width2", "thickness", "weight")
DAY = ("species", "temp", "rh", "runout", "rings")
PLACED = ("changed", "places", "said_twist", "said_along", "said_across")
RIG = ("span", "load", "load_at", "read_at", "deflection", "runs", "held_flat")
RULE = ("rule", "liked_label", "liked_thickness", "rig_span", "rig_load", "rig_at", "rig_wanted")
TYPED = dict.fromkeys((*SIZE, *DAY, *PLACED, *RIG, *RULE, "rows", "as_rows", "target"), "")
TELLS = (
    ("E along", "e_along_mpa", "e_along", "E along the grain"),
    ("E across", "e_across_mpa", "e_across", "E across the grain"),
    ("G", "g_mpa", "g", "G, in twist"),
)


@dataclass(frozen=True)
class Constant:
    """One of the three numbers, GPa; None where nothing told it."""

    name: str
    says: str
    gpa: float | None
    spread_gpa: float | None
    spread_pct: float | None


@dataclass(frozen=True)
class Shown:
    """The reading in hand: of a pair's piece, or of a piece that is not kept."""

    document: TapDocument
    tap: PlateRead | None
    deflected: PlateRead | None
    heard: Heard | None


def pair_facts(
    request: Request, pair_id: int, piece: PieceName | None = None, typed: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """Everything the page of a pair's plate names.

    Raises:
        Mistake: no such pair.
    """
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    with shop.read() as session:
        found = pair(session, pair_id)
        read = plate_readings(session, pair_id)
        chosen = piece or (read[-1].piece if read else usual_piece(found.stage, found.kind))
        shown = _shown(shop, read, chosen)
        use: Use = "back" if found.kind == "back" else "top"
        rule = shop_rule(session, use)
        body = chosen_outline(shop, session, found)
        wood = wood_named(found.species_common)
        filled = said_by_record(on_record(session, pair_id, chosen), unit)
        past = past_plates(session)
        mapped = newest_map(session, pair_id, chosen)
    last = (shown.tap or shown.deflected) if shown else None
    if last is not None:
        wood = wood_named(last.says.get("species")) or wood
        filled |= {name: last.says[name] for name in (*SIZE, *DAY) if last.says.get(name)}
    facts = _common(request, shown, rule, wood, body, {**filled, **(typed or {})})
    return facts | {
        "title": f"The {'blank' if chosen == 'blank' else 'plate'} of {found.label}",
        "here": f"/wood/pairs/{pair_id}/plate",
        "pair": found,
        "piece": chosen,
        "pieces": [(name, PIECES[name]) for name in pieces_of(found)],
        "use": use,
        "read": read,
        "mapped": mapped,
        "leaves": leaves_together(read, wood),
        "cloud": cloud(shown.document, past, shown.tap.id if shown.tap else None) if shown else None,
        "among": _among(shown, past, found.id),
    }


def bench_facts(
    request: Request,
    typed: Mapping[str, str] | None = None,
    document: TapDocument | None = None,
    heard: Heard | None = None,
) -> dict[str, Any]:
    """The same for a piece that belongs to no pair."""
    shop: Shop = request.app.state.shop
    filled = {"temp": "", "rh": ""}
    with shop.read() as session:
        rule, past, air = shop_rule(session, "top"), past_plates(session), newest_air(session)
    if air is not None and air.temp_c is not None and air.rh_pct is not None:
        filled = {"temp": f"{air.temp_c:g} C", "rh": f"{air.rh_pct:g} %"}
    shown = Shown(document, None, None, heard) if document is not None else None
    said = {**filled, **(typed or {})}
    facts = _common(request, shown, rule, wood_named(said.get("species")), None, said)
    return facts | {
        "title": "A plate without a pair",
        "here": NEW,
        "pair": None,
        "piece": "a",
        "pieces": (),
        "use": "top",
        "read": (),
        "mapped": None,
        "leaves": (),
        "cloud": cloud(document, past, None) if document is not None else None,
        "among": _among(shown, past, None),
        "heard_text": heard.text() if heard is not None else "",
    }


def pieces_of(found: Pair) -> tuple[PieceName, ...]:
    """What a pair may put on the bench."""
    return ("blank",) if found.kind in ("brace stock", "neck", "fingerboard") else ("a", "b", "joined")


def chosen_outline(shop: Shop, session: Session, found: Pair) -> Outline | None:
    """The outline a pair was chosen for, where it still can be drawn."""
    row = choice(session, found.id)
    name = row.outline.get("name") if row is not None else None
    try:
        return shape(shop, session, str(name)) if name else None
    except Mistake:
        return None


def _shown(shop: Shop, read: tuple[PlateRead, ...], piece: PieceName) -> Shown | None:
    tap, bent = newest_of(read, piece, TAP), newest_of(read, piece, DEFLECT)
    one = tap or bent
    if one is None:
        return None
    path = shop.made.path(drawn_key(tap.id)) if tap is not None else None
    heard = heard_of(path.read_bytes()) if path is not None and path.is_file() else None
    return Shown(one.document, tap, bent, heard)


def _common(
    request: Request,
    shown: Shown | None,
    rule: ShopRule,
    wood: str | None,
    body: Outline | None,
    typed: Mapping[str, str],
) -> dict[str, Any]:
    unit = house_of(request).unit
    document = shown.document if shown else None
    target, others, rests, fault = _targets(document, rule, wood, body)
    heard = shown.heard if shown else None
    return {
        "place": "wood",
        "typed": {**TYPED, **_rule_typed(rule, unit), **typed},
        "unit_words": "inches" if unit == "inch" else "mm",
        "woods": species_names(),
        "accept": ACCEPT,
        "spots": tuple(SPOTS),
        "rules": [(name, facts.words) for name, facts in RULES.items()],
        "rule": rule,
        "shown": shown,
        "document": document,
        "constants": constants(document) if document else (),
        "chart": spectrum_chart(document, heard.curve if heard else ()) if document else None,
        "drawings": [(name, Markup(svg)) for name, svg in mode_drawings(document, wood).items()]
        if document
        else (),
        "cuts": heard.cuts if heard else (),
        "warnings": _warnings(shown) if shown else (),
        "target": target,
        "others": others,
        "rests": rests,
        "target_fault": fault,
        "outline": body,
        "agreed": _agreed(shown),
        "heard_text": "",
    }


def _warnings(shown: Shown) -> tuple[str, ...]:
    """What the reading warns of, as sentences; a recording's name stays as it was given."""
    names = tuple(shown.tap.says.get("names", ())) if shown.tap else ()
    lines = shown.document.warnings
    return tuple(line if names and line.startswith(names) else line[:1].upper() + line[1:] for line in lines)


def constants(document: TapDocument) -> tuple[Constant, ...]:
    """The three numbers with their spreads; a bar tells nothing across the grain."""
    found = []
    for name, field, key, says in TELLS:
        value = getattr(document, field)
        pct = getattr(document.spread_pct, key)
        if document.kind == "bar" and value is None:
            continue
        gpa = None if value is None else value / 1000
        spread = None if gpa is None or pct is None else gpa * pct / 100
        found.append(Constant(name, says, gpa, spread, pct))
    return tuple(found)


def _targets(document: TapDocument | None, rule: ShopRule, wood: str | None, body: Outline | None) -> Any:
    """The shop's own thickness, the other rules', what they rest on, and why there are none."""
    if document is None or document.kind == "bar":
        return None, (), (), ""
    try:
        found, rests = targets(document, rule, wood, body)
    except Mistake as mistake:
        return None, (), (), str(mistake)
    own = next((one for one in found if one.rule == rule.rule), None)
    return own, tuple(one for one in found if one is not own), rests, ""


def _agreed(shown: Shown | None) -> tuple[tuple[str, bool], ...]:
    """Taps beside the weight, line by line, and whether each agrees."""
    if shown is None or shown.tap is None or shown.deflected is None:
        return ()
    lines = compared(shown.tap.document, shown.deflected.document)
    return tuple((line, "disagree" not in line) for line in lines)


def _among(shown: Shown | None, past: tuple[PastPlate, ...], pair_id: int | None) -> str:
    """Where its stiffness lies among other wood's."""
    if shown is None or shown.document.e_along_mpa is None:
        return ""
    return among_past(shown.document.e_along_mpa, [one.e_along_mpa for one in past if one.pair_id != pair_id])


def _rule_typed(rule: ShopRule, unit: Unit) -> dict[str, str]:
    """The shop's rule as its form shows it."""
    said: dict[str, str] = {"rule": rule.rule}
    if rule.rig is not None:
        said |= {
            "rig_span": plain_length(rule.rig.span_mm, unit),
            "rig_load": f"{rule.rig.load_n:.4g} N",
            "rig_at": plain_length(rule.rig.at_mm, unit),
            "rig_wanted": plain_length(rule.wanted_mm, unit),
        }
    return said
