"""The grade of what is kept: a pair's, inside the outline it was chosen for or laid out for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from pydantic import ValidationError
from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.layout.document import FlawsPart, OpeningPart
from seamlight.shop.change import Change
from seamlight.shop.grade import Grade, grade
from seamlight.shop.grade_facts import facts_of
from seamlight.shop.grade_rules import SETTING_KEY, STARTING_RULES, USES, GradeRules, Use, rules_from
from seamlight.shop.settings import keep_setting, setting
from seamlight.shop.tables import Choice, Pair, PairFigure, PairFit, Reading
from seamlight.units import Unit

RUNOUT_VERB = "runout"  # typed: {"runout_deg": ...}, as a split offcut gave it
AT_A_TIME = 100


@dataclass(frozen=True)
class Inside:
    """One outline on one pair: the opening that counts, the flaws of both leaves."""

    outline: str  # key: a stock name or a drawing's hash
    outline_name: str
    opening: OpeningPart
    flaws: FlawsPart
    chosen: bool  # by a person; else the best opening of the layout


@dataclass(frozen=True)
class Beside:
    """What was read of a pair beside its layouts."""

    contrast_pct: tuple[float | None, ...] = ()
    runout_deg: float | None = None


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
    pairs = list(change.session.scalars(select(Pair).where(Pair.kind.in_(USES))))
    beside = readings_beside(change.session)
    laid = insides_of(change.session, [pair.id for pair in pairs])
    for pair in pairs:
        found = _graded(pair, laid.get(pair.id, {}), rules, beside.get(pair.id, Beside()), "mm")
        figure = change.session.get(PairFigure, pair.id)
        if figure is not None:
            figure.grade = found.grade.name if found and found.grade else None


def grade_name(session: Session, pair_id: int) -> str | None:
    """A pair's grade by the shop's rules, for the rack; None where there is none."""
    pair = session.get(Pair, pair_id)
    if pair is None or pair.kind not in USES:
        return None
    found = graded(session, pair, shop_rules(session))
    return found.grade.name if found and found.grade else None


def graded(session: Session, pair: Pair, rules: GradeRules, unit: Unit = "mm") -> Graded | None:
    """The grade inside the chosen outline, else the best laid out that fits; None where none was laid out."""
    beside = readings_beside(session, pair.id).get(pair.id, Beside())
    return _graded(pair, insides(session, pair.id), rules, beside, unit)


def _graded(
    pair: Pair, laid: Mapping[str, Inside], rules: GradeRules, beside: Beside, unit: Unit
) -> Graded | None:
    if pair.kind not in USES or not laid:
        return None
    inside = next((one for one in laid.values() if one.chosen), None)
    if inside is None:
        inside = max(laid.values(), key=lambda one: (one.opening.fits, one.opening.score))
    return Graded(inside, grade_inside(pair, inside, rules, beside, unit))


def grade_inside(
    pair: Pair, inside: Inside, rules: GradeRules, beside: Beside, unit: Unit = "mm"
) -> Grade | None:
    """The grade for one outline."""
    facts = facts_of(
        inside.opening,
        inside.flaws,
        cast(Use, pair.kind),
        inside.outline_name,
        contrast_pct=beside.contrast_pct,
        runout_deg=beside.runout_deg,
    )
    return grade(facts, rules, unit)


def readings_beside(session: Session, pair_id: int | None = None) -> dict[int, Beside]:
    """The newest two-tone and runout readings by the pair's number, of one pair or of all."""
    live = select(Reading).where(Reading.verb.in_(("tone", RUNOUT_VERB)), Reading.deleted_at.is_(None))
    if pair_id is not None:
        live = live.where(Reading.pair_id == pair_id)
    found: dict[int, Beside] = {}
    for row in session.scalars(live.order_by(Reading.id)):
        if row.pair_id is None:
            continue
        so_far = found.get(row.pair_id, Beside())
        if row.verb == "tone":
            contrast = tuple(row.document.get("contrast_pct") or ())
            found[row.pair_id] = replace(so_far, contrast_pct=contrast)
        else:
            typed = row.document.get("runout_deg")
            found[row.pair_id] = replace(so_far, runout_deg=float(typed) if typed is not None else None)
    return found


def insides(session: Session, pair_id: int) -> dict[str, Inside]:
    """What lies inside each outline one pair was laid out for, by the outline's key."""
    return insides_of(session, [pair_id]).get(pair_id, {})


def insides_of(
    session: Session, pair_ids: Iterable[int], wanted: Callable[[PairFit, bool], bool] | None = None
) -> dict[int, dict[str, Inside]]:
    """What lies inside each outline of many pairs.

    The chosen opening counts for its outline, the best one for the others; a document that can't be read any
    more is passed over.

    Args:
        session: to look them up.
        pair_ids: the pairs.
        wanted: which layouts are asked for, by their short figures and whether the outline was chosen; all
            where it is None.
    """
    numbers = set(pair_ids)
    live = select(Choice).where(Choice.deleted_at.is_(None), Choice.pair_id.in_(numbers))
    chosen = {row.pair_id: row for row in session.scalars(live)}
    rows = session.scalars(select(PairFit).where(PairFit.pair_id.in_(numbers)))
    fits = {}
    for fit in rows:
        by_hand = _outline_chosen(chosen.get(fit.pair_id)) == fit.outline
        if wanted is None or wanted(fit, by_hand):
            fits[fit.reading_id] = (fit, by_hand)
    found: dict[int, dict[str, Inside]] = {}
    for reading_id, document in _documents(session, list(fits)):
        fit, by_hand = fits[reading_id]
        inside = _inside(fit.outline, document, chosen[fit.pair_id] if by_hand else None)
        if inside is not None:
            found.setdefault(fit.pair_id, {})[fit.outline] = inside
    return found


def _documents(session: Session, numbers: list[int]) -> Iterator[tuple[int, dict[str, Any]]]:
    """Documents by their readings' numbers, a handful of rows at a time: they are large."""
    for at in range(0, len(numbers), AT_A_TIME):
        some = select(Reading.id, Reading.document).where(Reading.id.in_(numbers[at : at + AT_A_TIME]))
        yield from ((number, document) for number, document in session.execute(some))


def _outline_chosen(chosen: Choice | None) -> str | None:
    return str(chosen.outline.get("name") or chosen.outline.get("file")) if chosen is not None else None


def _inside(key: str, document: Mapping[str, Any], chosen: Choice | None) -> Inside | None:
    openings = document.get("openings") or []
    judged: Any = openings[0] if openings else None
    if chosen is not None:
        judged = chosen.document.get("opening", chosen.document)
    if judged is None:
        return None
    try:
        return Inside(
            outline=key,
            outline_name=str(document.get("outline", {}).get("name") or key),
            opening=OpeningPart.model_validate(judged),
            flaws=FlawsPart.model_validate(document.get("flaws", {})),
            chosen=chosen is not None,
        )
    except ValidationError:
        return None
