"""The grade of what is kept: a pair's, inside the outline it was chosen for or laid out for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from pydantic import ValidationError
from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.layout.document import FlawsPart, OpeningPart
from seamlight.shop import figures
from seamlight.shop.change import Change
from seamlight.shop.choices import choice
from seamlight.shop.grade import Grade, grade
from seamlight.shop.grade_facts import facts_of
from seamlight.shop.grade_rules import SETTING_KEY, STARTING_RULES, USES, GradeRules, Use, rules_from
from seamlight.shop.settings import keep_setting, setting
from seamlight.shop.tables import Choice, Pair, Reading
from seamlight.units import Unit

RUNOUT_VERB = "runout"  # typed: {"runout_deg": ...}, as a split offcut gave it


@dataclass(frozen=True)
class Inside:
    """One outline on one pair: the opening that counts, the flaws of both leaves."""

    outline: str  # key: a stock name or a drawing's hash
    outline_name: str
    opening: OpeningPart
    flaws: FlawsPart
    chosen: bool  # by a person; else the best opening of the layout


@dataclass(frozen=True)
class Graded:
    """A pair's grade and which outline it holds for."""

    inside: Inside
    grade: Grade | None


def shop_rules(session: Session) -> GradeRules:
    """The shop's own rules, or those one starts from."""
    kept = setting(session, SETTING_KEY)
    return STARTING_RULES if kept is None else rules_from(kept)


def keep_rules(change: Change, rules: GradeRules, *, expected_version: int | None = None) -> None:
    """Keep the shop's rules and grade the whole rack anew by them.

    Raises:
        Mistake: they make no sense, or were changed since `expected_version`.
    """
    keep_setting(
        change, SETTING_KEY, rules.checked().model_dump(mode="json"), expected_version=expected_version
    )
    change.session.flush()
    for pair in change.session.scalars(select(Pair).where(Pair.kind.in_(USES))):
        note_grade(change.session, pair, rules)


def note_grade(session: Session, pair: Pair, rules: GradeRules | None = None) -> None:
    """Note a pair's grade for the rack; to be called after its readings or its choice changed."""
    found = graded(session, pair, rules or shop_rules(session))
    figures.set_grade(session, pair.id, found.grade.name if found and found.grade else None)


def graded(session: Session, pair: Pair, rules: GradeRules, unit: Unit = "mm") -> Graded | None:
    """The grade inside the chosen outline, else the best laid out that fits; None where none was laid out."""
    laid = insides(session, pair.id)
    if pair.kind not in USES or not laid:
        return None
    inside = next((one for one in laid.values() if one.chosen), None)
    if inside is None:
        inside = max(laid.values(), key=lambda one: (one.opening.fits, one.opening.score))
    return Graded(inside, grade_inside(session, pair, inside, rules, unit))


def grade_inside(
    session: Session, pair: Pair, inside: Inside, rules: GradeRules, unit: Unit = "mm"
) -> Grade | None:
    """The grade for one outline."""
    facts = facts_of(
        inside.opening,
        inside.flaws,
        cast(Use, pair.kind),
        inside.outline_name,
        contrast_pct=_contrast_pct(session, pair.id),
        runout_deg=_runout_deg(session, pair.id),
    )
    return grade(facts, rules, unit)


def insides(session: Session, pair_id: int, outlines: Iterable[str] | None = None) -> dict[str, Inside]:
    """What lies inside each outline the pair was laid out for, by the outline's key.

    The chosen opening counts for its outline, the best one for the others; a document that can't be read any
    more is passed over.

    Args:
        outlines: only these; all where it is None.
    """
    chosen = choice(session, pair_id)
    found: dict[str, Inside] = {}
    for key, row in _layouts(session, pair_id).items():
        if outlines is None or key in set(outlines):
            inside = _inside(key, row.document, chosen)
            if inside is not None:
                found[key] = inside
    return found


def _layouts(session: Session, pair_id: int) -> dict[str, Reading]:
    """The newest layout for each outline."""
    live = select(Reading).where(
        Reading.pair_id == pair_id, Reading.verb == "layout", Reading.deleted_at.is_(None)
    )
    return {figures.outline_of(row): row for row in session.scalars(live.order_by(Reading.id))}


def _inside(key: str, document: Mapping[str, Any], chosen: Choice | None) -> Inside | None:
    openings = document.get("openings") or []
    by_hand = chosen is not None and (chosen.outline.get("name") or chosen.outline.get("file")) == key
    judged: Any = openings[0] if openings else None
    if by_hand and chosen is not None:
        judged = chosen.document.get("opening", chosen.document)
    if judged is None:
        return None
    try:
        return Inside(
            outline=key,
            outline_name=str(document.get("outline", {}).get("name") or key),
            opening=OpeningPart.model_validate(judged),
            flaws=FlawsPart.model_validate(document.get("flaws", {})),
            chosen=by_hand,
        )
    except ValidationError:
        return None


def _contrast_pct(session: Session, pair_id: int) -> tuple[float | None, ...]:
    document = _newest(session, pair_id, "tone")
    return tuple(document.get("contrast_pct") or ()) if document else ()


def _runout_deg(session: Session, pair_id: int) -> float | None:
    document = _newest(session, pair_id, RUNOUT_VERB)
    typed = document.get("runout_deg") if document else None
    return float(typed) if typed is not None else None


def _newest(session: Session, pair_id: int, verb: str) -> dict[str, Any] | None:
    live = select(Reading).where(
        Reading.pair_id == pair_id, Reading.verb == verb, Reading.deleted_at.is_(None)
    )
    row = session.scalars(live.order_by(Reading.id.desc()).limit(1)).one_or_none()
    return row.document if row else None
