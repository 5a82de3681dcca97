"""Before jointing and after the clamps, from a joint's page: what is shown, and what is typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from fastapi import Request
from sqlalchemy.orm import Session

from seamlight.layout.by_hand import body_of
from seamlight.mistake import Mistake
from seamlight.outline.measure import waist_of
from seamlight.seam import cup_mm, twist_mm
from seamlight.shop.change import Change
from seamlight.shop.choices import choice
from seamlight.shop.laying_out import settings_for
from seamlight.shop.outlines import built, outline_names
from seamlight.shop.pair_wood import settings_of, shape
from seamlight.shop.readings import readings
from seamlight.shop.seam_after import (
    AFTER,
    AfterDocument,
    CentrePart,
    FitPart,
    StepPart,
    centre_part,
    fit_part,
    note_after,
    step_part,
)
from seamlight.shop.seam_before import (
    BEFORE,
    LEAVES,
    Leaf,
    LeafBefore,
    flat_before,
    judge_before,
    leaf_before,
    note_before,
    rests,
)
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.units import Unit, parse_length
from seamlight.web.pair_bench import use_of
from seamlight.web.render import house_of
from seamlight.web.seam_asked import length_typed, table_rows

BEFORE_TYPED = {f"{name}_{leaf}": "" for leaf in LEAVES for name in ("cup", "twist", "grams", "mc")}
AFTER_TYPED = dict.fromkeys(("step", "thick_now", "thick_want", "centre_neck", "centre_tail", "outline"), "")
BODY_PLACES = ("neck end", "upper bout", "waist", "lower bout", "tail end")


def before_after(request: Request, session: Session, pair_id: int) -> dict[str, Any]:
    """What the page shows of both."""
    shop: Shop = request.app.state.shop
    resting = rests(session, pair_id, shop.clock())
    befores = readings(session, pair_id=pair_id, verb=BEFORE)
    afters = readings(session, pair_id=pair_id, verb=AFTER)
    name = _outline_name(session, pair_id)
    outline = shape(shop, session, name) if name else None
    places: tuple[float, ...] = ()
    if outline is not None:
        places = (0.0, *waist_of(outline)[:3], outline.length_mm)
    return {
        "before": judge_before(flat_before(session, pair_id), resting, house_of(request).unit),
        "befores": list(reversed(befores)),
        "resting": resting,
        "afters": [(row, AfterDocument.model_validate(row.document)) for row in reversed(afters)],
        "body": list(zip(BODY_PLACES, places, strict=True)) if places else [],
        "outline_name": name,
        "outlines": [(one, one) for one in outline_names(session)],
    }


def _outline_name(session: Session, pair_id: int) -> str:
    """The choice's outline, else the first that the shop builds."""
    chosen = choice(session, pair_id)
    names = outline_names(session)
    wanted = str(chosen.outline.get("name")) if chosen is not None else next(iter(built(session)), "")
    return wanted if wanted in names else names[0]


def note_typed_before(change: Change, pair_id: int, typed: Mapping[str, str], unit: Unit) -> None:
    """Keep what was typed of both leaves.

    Raises:
        Mistake: what cannot be, with its field.
    """
    leaves: dict[Leaf, LeafBefore] = {}
    grams: dict[Leaf, float | None] = {}
    for leaf in LEAVES:
        cup, twist = _cup(typed, f"cup_{leaf}", unit), _twist(typed, f"twist_{leaf}", unit)
        moisture = _figure(typed, f"mc_{leaf}", "%")
        try:
            leaves[leaf] = leaf_before(cup, twist, moisture)
        except Mistake as mistake:
            raise Mistake(mistake.what, where=f"mc_{leaf}", do=mistake.do) from mistake
        grams[leaf] = _figure(typed, f"grams_{leaf}", "g")
    said = {name: typed[name] for name in BEFORE_TYPED if typed[name].strip()}
    note_before(change, pair_id, leaves, grams, said)


def _gaps(typed: Mapping[str, str], name: str, unit: Unit) -> list[float]:
    parts = typed[name].replace(";", " ").split()
    if parts and parts[-1] in ("mm", "in", "inch", "thou"):  # one figure and its unit
        parts = [" ".join(parts)] if len(parts) == 2 else parts
    return [parse_length(part.strip(","), unit, where=name) for part in parts]


def _cup(typed: Mapping[str, str], name: str, unit: Unit) -> float | None:
    """One gap, or gaps at even places from edge to edge."""
    gaps = _gaps(typed, name, unit)
    if len(gaps) == 2:
        raise Mistake("two gaps say no cup", where=name, do="write the widest, or three and more across")
    if len(gaps) < 2:
        return gaps[0] if gaps else None
    return cup_mm(np.linspace(0.0, 1.0, len(gaps)), np.array(gaps))


def _twist(typed: Mapping[str, str], name: str, unit: Unit) -> float | None:
    """The gap under one corner, or the heights of four going round."""
    gaps = _gaps(typed, name, unit)
    if not gaps:
        return None
    if len(gaps) == 1:
        return gaps[0]
    if len(gaps) != 4:
        raise Mistake(
            "a leaf has four corners", where=name, do="write the gap under one, or four heights going round"
        )
    return twist_mm((gaps[0], gaps[1], gaps[2], gaps[3]))


def _figure(typed: Mapping[str, str], name: str, unit: str) -> float | None:
    text = typed[name].strip().removesuffix(unit).strip().replace(",", ".")
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        raise Mistake(f"{typed[name]!r} is no figure", where=name, do="write it like 158 or 7.5") from None


def note_typed_after(
    change: Change,
    shop: Shop,
    pair_id: int,
    typed: Mapping[str, str],
    columns: Sequence[Sequence[str]],
    unit: Unit,
) -> AfterDocument:
    """Keep what was typed after the clamps.

    Raises:
        Mistake: what cannot be, with its field.
    """
    said = {name: typed[name] for name in AFTER_TYPED if typed[name].strip()}
    row = note_after(
        change,
        pair_id,
        said,
        step=_step(typed, unit),
        centre=_centre(typed, unit),
        fit=_fit(change.session, shop, pair_id, typed["outline"], columns, unit),
        unit=unit,
    )
    return AfterDocument.model_validate(row.document)


def _step(typed: Mapping[str, str], unit: Unit) -> StepPart | None:
    names = ("step", "thick_now", "thick_want")
    step, now, want = (length_typed(typed, name, unit) for name in names)
    if step is None:
        return None
    if now is None or want is None:
        missing = "thick_now" if now is None else "thick_want"
        raise Mistake("is needed to judge the step", where=missing, do="write both thicknesses")
    return step_part(step, now, want, unit)


def _centre(typed: Mapping[str, str], unit: Unit) -> CentrePart | None:
    found = []
    for name in ("centre_neck", "centre_tail"):
        text = typed[name].strip()
        sign = -1.0 if text.startswith(("-", "\N{MINUS SIGN}")) else 1.0
        off = length_typed({name: text.lstrip("+-\N{MINUS SIGN}")}, name, unit)
        found.append(None if off is None else sign * off)
    neck, tail = found
    if neck is None and tail is None:
        return None
    if neck is None or tail is None:
        missing = "centre_neck" if neck is None else "centre_tail"
        raise Mistake("one end alone proves nothing", where=missing, do="look at both ends; 0: on it")
    return centre_part(neck, tail, unit)


def _fit(
    session: Session,
    shop: Shop,
    pair_id: int,
    name: str,
    columns: Sequence[Sequence[str]],
    unit: Unit,
) -> FitPart | None:
    rows = table_rows(columns, unit, "widths")
    if not rows:
        return None
    widths = []
    for at, one, other in rows:
        if other is None:
            raise Mistake("both halves are measured", where="widths", do="write left and right")
        widths.append((at, one, other))
    use = use_of(pair(session, pair_id)) or "top"
    chosen = choice(session, pair_id)
    settings = (
        settings_of(chosen.settings, use) if chosen is not None else settings_for(session, pair_id, use)
    )
    outline = body_of(shape(shop, session, name or _outline_name(session, pair_id)), use)
    try:
        return fit_part(outline, widths, settings.trim_mm, unit)
    except Mistake as mistake:
        raise Mistake(mistake.what, where="widths", do=mistake.do) from mistake
