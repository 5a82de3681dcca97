"""Wanted instruments: what each asks of its wood, and which pairs were given to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change, check_version
from seamlight.shop.match_wishes import Part
from seamlight.shop.tables import Assignment, Build, Fields, Pair
from seamlight.shop.texts import check_texts

PARTS: tuple[Part, ...] = get_args(Part)
LABEL_LONGEST = 60
OUTLINE_LONGEST = 80
LONGEST = {"for_whom": 80, "notes": 4000}


class PartWish(BaseModel):
    """What a top or a back is wanted of: woods in the order they are liked, a least grade, room over trim."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    woods: tuple[Annotated[str, Field(max_length=60)], ...] = Field(default=(), max_length=12)
    least_grade: str | None = Field(default=None, max_length=24)
    spare_mm: float = Field(default=0.0, ge=0, le=100)


class KindWishes(BaseModel):
    """The parts an instrument still wants wood for; None where it wants none."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    top: PartWish | None = PartWish()
    back: PartWish | None = PartWish()

    def of(self, part: Part) -> PartWish | None:
        """The wish for one part."""
        return self.top if part == "top" else self.back


@dataclass(frozen=True)
class ToGive:
    """A pair to be given to a part of an instrument."""

    build_id: int
    part: Part
    pair_id: int
    why: str = ""


def wishes_of(build: Build) -> KindWishes:
    """What an instrument asks of its wood."""
    return KindWishes.model_validate(build.kind_wishes or {})


def new_build(change: Change, *, label: str, **fields: Any) -> Build:
    """A new wanted instrument.

    Args:
        change: the change it belongs to.
        label: what it is called: "Anna's parlour".
        **fields: for_whom, outline ({"name": ...} or {"file": sha}), kind_wishes, want_by, notes, class_id,
            student_id.

    Raises:
        Mistake: the label is empty or too long, or a wish cannot be.
    """
    return kept.make(change, Build(**_checked({"label": label, **fields})))


def edit_build(
    change: Change, build_id: int, values: Mapping[str, Any], *, expected_version: int | None = None
) -> Build:
    """Give an instrument's fields new values.

    Raises:
        Conflict: someone else changed it since `expected_version`.
        Mistake: no such instrument, or a value that cannot be.
    """
    found = kept.find(change.session, Build, build_id)
    wanted = _checked(dict(values))
    if wanted.get("kind_wishes") == wishes_of(found).model_dump(mode="json"):
        wanted.pop("kind_wishes")  # the same, said at length
    kept.edit(change, found, wanted, expected_version=expected_version)
    return found


def delete_build(change: Change, build_id: int, *, expected_version: int | None = None) -> Build:
    """Put an instrument among the recently deleted; its wood is free again."""
    found = kept.find(change.session, Build, build_id)
    kept.delete(change, found, expected_version=expected_version)
    for row in given_to(change.session, build_id).values():
        take_back(change, build_id, row.part)
    return found


def bring_back_build(change: Change, build_id: int) -> Build:
    """Bring a deleted instrument back, without the wood it had: that may be someone else's by now."""
    found = kept.find(change.session, Build, build_id, deleted=True)
    kept.bring_back(change, found)
    return found


def build(session: Session, build_id: int, *, deleted: bool = False) -> Build:
    """The instrument of that number.

    Raises:
        Mistake: there is none, or it was deleted and `deleted` does not allow that.
    """
    return kept.find(session, Build, build_id, deleted=deleted)


def builds(session: Session) -> list[Build]:
    """Every wanted instrument, the soonest wanted first, those without a date last."""
    rows = session.scalars(select(Build).where(Build.deleted_at.is_(None)))
    return sorted(rows, key=lambda row: (row.want_by or date.max, row.id))


def _checked(values: dict[str, Any]) -> dict[str, Any]:
    known = {column.key for column in Build.__table__.columns} - kept.OWN - {"deleted_at"}
    unknown = sorted(set(values) - known)
    if unknown:
        raise Mistake(f"an instrument has no {unknown[0]}", do=f"name one of {', '.join(sorted(known))}")
    if "label" in values:
        said = " ".join(str(values["label"]).split())
        if not said or len(said) > LABEL_LONGEST:
            raise Mistake(f"a name has 1 to {LABEL_LONGEST} letters", where="label", do="write one")
        values["label"] = said
    check_texts(values, LONGEST)
    if values.get("kind_wishes") is not None:
        values["kind_wishes"] = _wishes(values["kind_wishes"])
    outline = values.get("outline")
    if outline is not None and set(outline) not in ({"name"}, {"file"}):
        raise Mistake("an outline is a name or a file", where="outline", do="choose one of the list")
    if outline is not None and len(str(next(iter(outline.values())))) > OUTLINE_LONGEST:
        raise Mistake("no outline has so long a name", where="outline", do="choose one of the list")
    return values


def _wishes(typed: Any) -> dict[str, Any]:
    try:
        found = KindWishes.model_validate(typed)
    except ValidationError as error:
        first = error.errors()[0]
        place = " ".join(str(part) for part in first["loc"])
        raise Mistake(str(first["msg"]), where=place, do="correct that wish") from None
    return found.model_dump(mode="json")


# What was given


def give(
    change: Change, to: ToGive, *, locked: bool = False, expected_version: int | None = None
) -> Assignment:
    """Give a pair to a part of an instrument, in place of the one it had.

    Raises:
        Conflict: someone else changed the instrument since `expected_version`.
        Mistake: no such pair, instrument or part; the pair is another's, used up, or of another kind; or what
            is there is locked.
    """
    found = kept.find(change.session, Build, to.build_id)
    _check_version(change, found, expected_version)
    pair = kept.find(change.session, Pair, to.pair_id)
    if to.part not in PARTS:
        raise Mistake(f"{to.part!r} is no part that wood is given to", where="part", do="say top or back")
    if pair.kind != to.part:
        raise Mistake(f"{pair.label} is no {to.part} but: {pair.kind}", where="pair", do="choose another")
    if pair.stage == "used":
        raise Mistake(f"{pair.label} is used up", where="pair", do="choose another")
    other = change.session.scalars(select(Assignment).where(Assignment.pair_id == to.pair_id)).one_or_none()
    if other is not None and (other.build_id, other.part) != (to.build_id, to.part):
        whose = change.session.get(Build, other.build_id)
        named = whose.label if whose else "another instrument"
        raise Mistake(f"{pair.label} is given to {named}", where="pair", do="take it back there first")
    row = given_to(change.session, to.build_id).get(to.part)
    if row is not None and row.pair_id != to.pair_id:
        take_back(change, to.build_id, to.part)
        row = None
    if row is None:
        row = Assignment(build_id=to.build_id, part=to.part, pair_id=to.pair_id, locked=False)
        change.session.add(row)
    row.locked, row.at, row.by, row.why = locked, change.at, change.who, to.why or None
    change.session.flush()
    said = {"part": to.part, "pair": pair.label, "pair_id": pair.id, "locked": locked}
    _wood_changed(change, found, "wood given", None, said)
    change.record("pair", pair.id, "given", None, {"build": found.label, "build_id": found.id})
    return row


def take_back(change: Change, build_id: int, part: str, *, expected_version: int | None = None) -> None:
    """Take the wood of a part back onto the rack; nothing happens where there is none.

    Raises:
        Conflict: someone else changed the instrument since `expected_version`.
        Mistake: it is locked.
    """
    owner = change.session.get(Build, build_id)
    if owner is not None:
        _check_version(change, owner, expected_version)
    row = given_to(change.session, build_id).get(part)
    if row is None:
        return
    pair = change.session.get(Pair, row.pair_id)
    gone = owner is None or owner.deleted_at is not None or pair is None or pair.deleted_at is not None
    if row.locked and owner is not None and not gone:
        raise Mistake(f"the {part} of {owner.label} is locked", where=part, do="unlock it first")
    said = {"part": part, "pair_id": row.pair_id}
    change.session.delete(row)
    change.session.flush()
    if owner is not None:
        _wood_changed(change, owner, "wood taken back", said, None)
    change.record("pair", row.pair_id, "taken back", {"build_id": build_id}, None)


def lock(
    change: Change, build_id: int, part: str, locked: bool, *, expected_version: int | None = None
) -> None:
    """Lock or unlock a choice: what is locked, matching leaves as it is.

    Raises:
        Conflict: someone else changed the instrument since `expected_version`.
        Mistake: no wood was given to that part.
    """
    found = kept.find(change.session, Build, build_id)
    _check_version(change, found, expected_version)
    row = given_to(change.session, build_id).get(part)
    if row is None:
        raise Mistake(f"no wood was given for the {part}", where=part, do="give it a pair first")
    if row.locked != locked:
        row.locked = locked
        change.session.flush()
        _wood_changed(change, found, "locked" if locked else "unlocked", None, {"part": part})


def _check_version(change: Change, build: Build, expected: int | None) -> None:
    check_version(change, "build", build.id, kept.named(build), build.version, expected)


def _wood_changed(
    change: Change, build: Build, what: str, before: Fields | None, after: Fields | None
) -> None:
    """One more version of an instrument: whoever looked at it before did not see this wood."""
    build.version += 1
    build.changed_at = change.at
    change.session.flush()
    change.record("build", build.id, what, before, after, version=build.version)


def accept(change: Change, plan: Iterable[ToGive]) -> list[Assignment]:
    """Take over a whole matching: what it gives is given, what it leaves short gets nothing.

    Locked choices stay whatever the plan says of them, and so does wood that was used up.

    Raises:
        Mistake: the plan gives a locked pair away, or a pair is no longer to be had.
    """
    wanted = list(plan)
    now = all_given(change.session)
    keep = {(row.build_id, row.part) for row in now if row.locked or _is_used(change, row)}
    keep |= {(one.build_id, one.part) for one in wanted for row in now if _same(row, one)}
    for row in now:
        if (row.build_id, row.part) not in keep:
            take_back(change, row.build_id, row.part)
    return [give(change, one) for one in wanted if (one.build_id, one.part) not in keep]


def _is_used(change: Change, row: Assignment) -> bool:
    return change.session.get_one(Pair, row.pair_id).stage == "used"


def _same(row: Assignment, one: ToGive) -> bool:
    return (row.build_id, row.part, row.pair_id) == (one.build_id, one.part, one.pair_id)


def given_to(session: Session, build_id: int) -> dict[str, Assignment]:
    """An instrument's wood by part."""
    rows = session.scalars(select(Assignment).where(Assignment.build_id == build_id))
    return {row.part: row for row in rows}


def all_given(session: Session) -> list[Assignment]:
    """Everything that was given, to live instruments and of live pairs."""
    live = (
        select(Assignment)
        .join(Build, Build.id == Assignment.build_id)
        .join(Pair, Pair.id == Assignment.pair_id)
        .where(Build.deleted_at.is_(None), Pair.deleted_at.is_(None))
    )
    return list(session.scalars(live.order_by(Assignment.build_id, Assignment.part.desc())))
