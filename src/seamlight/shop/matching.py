"""The shop's rack and its wanted instruments as wishes and offers, and the matching of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import ceil

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.layout.document import OpeningPart
from seamlight.layout.spare_words import least_room
from seamlight.mistake import Mistake
from seamlight.outline.measures import generic_measures
from seamlight.shop.builds import PARTS, ToGive, all_given, builds, wishes_of
from seamlight.shop.grade import Grade
from seamlight.shop.grade_rules import USES, GradeRules
from seamlight.shop.grading import Beside, grade_inside, insides_of, readings_beside, shop_rules
from seamlight.shop.match_builds import Matching, Plan, match_builds
from seamlight.shop.match_wishes import Laid, Offer, Part, Wish
from seamlight.shop.tables import Build, Pair, PairFit, Reading
from seamlight.units import Unit

# The least leaf to buy for an outline: half the lower bout, trim and jointing beside it, and this much beyond
# the body's length (common practice, no source).
TRIM_MM, JOINTING_MM, LENGTH_OVER_MM = 3.0, 3.0, 12.0

BEGUN = ("jointed", "joined", "rested", "thicknessed")
Held = tuple[int, str]  # a pair that stays, and why


def match_shop(session: Session, unit: Unit = "mm") -> Matching:
    """The best assignment of everything on the rack to everything wanted.

    Raises:
        Mistake: one pair is locked twice.
    """
    rules = shop_rules(session)
    wishes = wishes_from(session, rules)
    return match_builds(wishes, offers_from(session, wishes, rules, unit), unit)


def to_give(plan: Plan) -> list[ToGive]:
    """A plan as it is handed to `builds.accept`; its reasons are kept beside each choice."""
    return [
        ToGive(one.wish.build_id, one.wish.part, one.offer.pair_id, " ".join(one.reasons))
        for one in plan.given
    ]


def wishes_from(session: Session, rules: GradeRules) -> list[Wish]:
    """What every wanted instrument asks for, part by part; one without an outline asks for nothing.

    Wood that was begun for an instrument stays with it; a part whose wood is used up asks for no more.
    """
    held: dict[tuple[int, str], Held] = {}
    used: set[tuple[int, str]] = set()
    for row in all_given(session):
        pair = session.get_one(Pair, row.pair_id)
        if pair.stage == "used":
            used.add((row.build_id, row.part))
        elif row.locked:
            held[row.build_id, row.part] = (pair.id, "Locked by hand.")
        elif pair.stage in BEGUN:
            held[row.build_id, row.part] = (pair.id, f"Already {pair.stage} for it.")
    found = []
    for build in builds(session):
        key = outline_key(build.outline)
        if not key:
            continue
        for part in PARTS:
            if (build.id, part) not in used:
                found += _wish(build, part, key, held.get((build.id, part)), rules, session)
    return found


def outline_key(outline: Mapping[str, str] | None) -> str:
    """The key under which layouts for an outline are found."""
    return str((outline or {}).get("name") or (outline or {}).get("file") or "")


def _wish(
    build: Build, part: Part, key: str, held: Held | None, rules: GradeRules, session: Session
) -> list[Wish]:
    wanted = wishes_of(build).of(part)
    if wanted is None:
        return []
    names = rules.names(part)
    place = _place(wanted.least_grade, names)
    size = _body_mm(key, session)
    return [
        Wish(
            build_id=build.id,
            build=build.label,
            part=part,
            outline=key,
            outline_name=size[2] if size else key,
            woods=wanted.woods,
            least_grade=place,
            least_grade_name=names[place] if place is not None else "",
            spare_mm=wanted.spare_mm,
            names=tuple(name for name in (build.label, build.for_whom) if name),
            want_by=build.want_by,
            locked=held[0] if held else None,
            locked_why=held[1] if held else "",
            leaf_mm=_leaf_mm(size[0], size[1]) if size else None,
        )
    ]


def _place(name: str | None, names: tuple[str, ...]) -> int | None:
    """The place of a grade by its name; a grade the shop no longer has asks nothing."""
    plain = [known.casefold() for known in names]
    return plain.index(name.casefold()) if name and name.casefold() in plain else None


def _body_mm(key: str, session: Session) -> tuple[float, float, str] | None:
    """Length, lower bout and name of an outline: of a stock one, or as a layout measured the drawing."""
    try:
        measures = generic_measures(key)
        return measures.length_mm, measures.lower_bout_mm, key
    except Mistake:
        pass
    laid = select(Reading).join(PairFit, PairFit.reading_id == Reading.id).where(PairFit.outline == key)
    row = session.scalars(laid.limit(1)).first()
    if row is None:
        return None
    outline = row.document.get("outline", {})
    return float(outline["length_mm"]), float(outline["lower_bout_mm"]), str(outline["name"])


def _leaf_mm(length_mm: float, lower_bout_mm: float) -> tuple[float, float]:
    return float(ceil(lower_bout_mm / 2 + TRIM_MM + JOINTING_MM)), float(ceil(length_mm + LENGTH_OVER_MM))


def offers_from(
    session: Session, wishes: Iterable[Wish], rules: GradeRules, unit: Unit = "mm"
) -> list[Offer]:
    """Every live pair that is not used up, with its layouts for the outlines that are wished."""
    wanted = {(wish.part, wish.outline) for wish in wishes}
    live = select(Pair).where(Pair.deleted_at.is_(None), Pair.stage != "used", Pair.kind.in_(USES))
    pairs = {pair.id: pair for pair in session.scalars(live.order_by(Pair.id))}

    def asked(fit: PairFit, chosen: bool) -> bool:
        """Its document is looked at: it may serve, and its short figures do not say all."""
        wished = (pairs[fit.pair_id].kind, fit.outline) in wanted
        return wished and (chosen or fit.fits or (fit.spare_mm or 0.0) >= 0)

    laid = _short(session, pairs, wanted)
    beside = readings_beside(session)
    for number, found in insides_of(session, pairs, asked).items():
        pair = pairs[number]
        for key, inside in found.items():
            grade = grade_inside(pair, inside, rules, beside.get(number, Beside()), unit)
            laid[number][key] = _laid(inside.opening, grade)
    return [
        Offer(
            pair_id=pair.id,
            label=pair.label,
            kind=pair.kind,
            wood=pair.species_common or "",
            laid=laid[pair.id],
            reserved_for=pair.reserved_for or "",
        )
        for pair in pairs.values()
    ]


def _short(
    session: Session, pairs: Mapping[int, Pair], wanted: set[tuple[Part, str]]
) -> dict[int, dict[str, Laid]]:
    """Layouts that do not fit, from their short figures alone."""
    found: dict[int, dict[str, Laid]] = {number: {} for number in pairs}
    for fit in session.scalars(select(PairFit).where(PairFit.fits.is_(False), PairFit.spare_mm < 0)):
        pair = pairs.get(fit.pair_id)
        if pair is not None and (pair.kind, fit.outline) in wanted:
            found[fit.pair_id][fit.outline] = Laid(False, False, fit.spare_mm or 0.0, 0.0)
    return found


def _laid(opening: OpeningPart, grade: Grade | None) -> Laid:
    return Laid(
        fits=opening.fits,
        marginal=opening.marginal,
        spare_mm=least_room(opening.spare_mm, opening.end_spare_mm)[0],
        score=opening.score,
        grade=grade.place if grade else None,
        grade_name=grade.name if grade else "",
        rooms_mm=(opening.spare_mm, opening.end_spare_mm),
    )


def not_laid_out(session: Session) -> dict[str, list[int]]:
    """For each outline that is wished, the read pairs of that part that were not laid out for it."""
    wishes = wishes_from(session, shop_rules(session))
    read = set(session.scalars(select(Reading.pair_id).where(Reading.verb == "read")))
    laid = {(row.pair_id, row.outline) for row in session.scalars(select(PairFit))}
    live = select(Pair).where(Pair.deleted_at.is_(None), Pair.stage.in_(("rough", "laid out")))
    pairs = [pair for pair in session.scalars(live.order_by(Pair.id)) if pair.id in read]
    found: dict[str, list[int]] = {}
    for part, outline in sorted({(wish.part, wish.outline) for wish in wishes}):
        numbers = [p.id for p in pairs if p.kind == part and (p.id, outline) not in laid]
        if numbers:
            found.setdefault(outline, []).extend(numbers)
    return found
