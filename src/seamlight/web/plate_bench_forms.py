"""The plate's other forms: a weight on it, a thickness map, the shop's rule, a plate it liked."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.plate import Rig, deflected_plate
from seamlight.plate.document import TapDocument
from seamlight.plate.targets import rule_named
from seamlight.shop.plate_bench import DEFLECT, THICKNESS, PieceName, plate_readings, wood_named
from seamlight.shop.plate_rule import ShopRule, Use, keep_shop_rule, reference_from, shop_rule
from seamlight.shop.readings import delete_reading, keep_reading
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.units import Unit, parse_length
from seamlight.web.access import Asks
from seamlight.web.errors import nothing_here
from seamlight.web.plate_facts import DAY, RIG, RULE, SIZE, pair_facts
from seamlight.web.plate_form import at_a_field, day_of, length_of, newtons, piece_of, rig_of
from seamlight.web.plate_maps import AsRows, thickness_document
from seamlight.web.render import again, go, house_of

router = APIRouter(include_in_schema=False)

PAGE = "plate.html"
Text = Annotated[str, Form(max_length=80)]
Piece = Annotated[PieceName, Form()]


@router.post("/wood/pairs/{pair_id}/plate/deflection")
def deflection(
    request: Request,
    asker: Asks,
    pair_id: int,
    piece: Piece = "a",
    length: Text = "",
    width: Text = "",
    width2: Text = "",
    thickness: Text = "",
    weight: Text = "",
    species: Text = "",
    temp: Text = "",
    rh: Text = "",
    span: Text = "",
    load: Text = "",
    load_at: Text = "",
    read_at: Text = "middle",
    deflection: Text = "",
    runs: Text = "along",
    held_flat: Text = "",
) -> Response:
    """How far a piece bends under a weight: worked out and kept."""
    typed = dict(zip(SIZE, (piece, length, width, width2, thickness, weight), strict=True))
    typed |= dict(zip(DAY[:3], (species, temp, rh), strict=True))
    typed |= dict(zip(RIG, (span, load, load_at, read_at, deflection, runs, held_flat), strict=True))
    unit = house_of(request).unit
    shop: Shop = request.app.state.shop
    try:
        day = day_of(typed)
        result = deflected_plate(
            piece_of(typed, "bar" if piece == "blank" else "plate", unit, weighed=False),
            rig_of(typed, unit),
            length_of(typed, "deflection", unit, "how far it bends"),
            day,
            direction="across" if runs == "across" else "along",
            width="plate" if held_flat else "beam",
        )
        with shop.change(asker.name) as change:
            keep_reading(
                change,
                DEFLECT,
                TapDocument.of(result),
                pair_id=pair_id,
                says=typed,
                temp_c=day.temp_c,
                rh_pct=day.rh_pct,
            )
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **pair_facts(request, pair_id, piece, typed))
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}")


@router.post("/wood/pairs/{pair_id}/plate/thickness")
def thickness(
    request: Request,
    asker: Asks,
    pair_id: int,
    piece: Piece = "a",
    rows: Annotated[str, Form(max_length=20_000)] = "",
    as_rows: Annotated[AsRows, Form()] = "grid",
    target: Text = "",
    length: Text = "",
    width: Text = "",
) -> Response:
    """Calliper readings of a piece: what is left to take where."""
    typed = {"rows": rows, "as_rows": as_rows, "target": target, "length": length, "width": width}
    unit = house_of(request).unit
    shop: Shop = request.app.state.shop
    try:
        size = length_of(typed, "length", unit), length_of(typed, "width", unit)
        target_mm = length_of(typed, "target", unit, "the thickness wanted")
        document = thickness_document(rows, as_rows, target_mm, size, unit)
        with shop.change(asker.name) as change:
            keep_reading(change, THICKNESS, document, pair_id=pair_id, says={**typed, "piece": piece})
    except Mistake as mistake:
        return again(request, PAGE, mistake, **pair_facts(request, pair_id, piece, typed))
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}#map")


@router.post("/wood/pairs/{pair_id}/plate/rule")
def set_rule(
    request: Request,
    asker: Asks,
    pair_id: int,
    piece: Piece = "a",
    rule: Text = "stiffness along",
    rig_span: Text = "",
    rig_load: Text = "",
    rig_at: Text = "",
    rig_wanted: Text = "",
) -> Response:
    """Settle thicknesses by another rule from now on, for tops or for backs."""
    typed = {"rule": rule, "rig_span": rig_span, "rig_load": rig_load, "rig_at": rig_at}
    typed["rig_wanted"] = rig_wanted
    shop: Shop = request.app.state.shop
    try:
        rig, wanted_mm = _shop_rig(typed, house_of(request).unit)
        with shop.change(asker.name) as change:
            use = use_of(pair(change.session, pair_id).kind)
            liked = shop_rule(change.session, use).reference
            keep_shop_rule(change, use, ShopRule(rule_named(rule), liked, rig, wanted_mm))
    except Mistake as mistake:
        return again(request, PAGE, at_a_field(mistake), **pair_facts(request, pair_id, piece, typed))
    return go(
        request, f"/wood/pairs/{pair_id}/plate?piece={piece}", "Thicknesses are settled so from now on."
    )


@router.post("/wood/pairs/{pair_id}/plate/{reading_id}/like")
def like(
    request: Request,
    asker: Asks,
    pair_id: int,
    reading_id: int,
    piece: Piece = "a",
    liked_label: Text = "",
    liked_thickness: Text = "",
) -> Response:
    """This is a plate the shop liked: others are compared with it from now on."""
    typed = dict(zip(RULE[1:3], (liked_label, liked_thickness), strict=True))
    shop: Shop = request.app.state.shop
    try:
        thick = length_of(typed, "liked_thickness", house_of(request).unit, "its finished thickness")
        with shop.change(asker.name) as change:
            found = pair(change.session, pair_id)
            one = next((r for r in plate_readings(change.session, pair_id) if r.id == reading_id), None)
            if one is None:
                raise nothing_here("There is no such reading.")
            use = use_of(found.kind)
            label = " ".join(liked_label.split()) or found.label
            reference = reference_from(one.document, label, thick, wood_named(found.species_common))
            old = shop_rule(change.session, use)
            keep_shop_rule(change, use, ShopRule(old.rule, reference, old.rig, old.wanted_mm))
    except Mistake as mistake:
        return again(request, PAGE, mistake, **pair_facts(request, pair_id, piece, typed))
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}", f"Compared with {label} from now on.")


@router.post("/wood/pairs/{pair_id}/plate/unlike")
def unlike(request: Request, asker: Asks, pair_id: int, piece: Piece = "a") -> Response:
    """Compare with an average plate of the species again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        use = use_of(pair(change.session, pair_id).kind)
        old = shop_rule(change.session, use)
        keep_shop_rule(change, use, ShopRule(old.rule, None, old.rig, old.wanted_mm))
    return go(request, f"/wood/pairs/{pair_id}/plate?piece={piece}")


@router.post("/wood/pairs/{pair_id}/plate/{reading_id}/drop")
def drop(request: Request, asker: Asks, pair_id: int, reading_id: int) -> Response:
    """Put a reading among the recently deleted."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        row = delete_reading(change, reading_id)
        if row.pair_id != pair_id:
            raise nothing_here("There is no such reading.")
    return go(
        request, f"/wood/pairs/{pair_id}/plate", "The reading is taken away; the one before counts again."
    )


def use_of(kind: str) -> Use:
    """Whether a pair's thickness is a back's or a top's."""
    return "back" if kind == "back" else "top"


def _shop_rig(typed: dict[str, str], unit: Unit) -> tuple[Rig | None, float | None]:
    """The shop's rig, where any of it is typed."""
    if not any(typed[name].strip() for name in ("rig_span", "rig_load", "rig_wanted")):
        return None, None
    span = length_of(typed, "rig_span", unit, "the distance between the supports")
    at = typed["rig_at"].strip()
    at_mm = parse_length(at, unit, where="rig_at") if at else span / 2
    wanted = length_of(typed, "rig_wanted", unit, "how far a finished plate bends")
    if not 0 < at_mm <= span / 2 + 0.01:
        raise Mistake("the load is not between a support and the middle", where="rig_at", do="measure again")
    return Rig(span, newtons(typed["rig_load"], "rig_load"), at_mm), wanted
