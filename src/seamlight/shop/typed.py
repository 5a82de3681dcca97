"""Readings typed by hand, and a teacher's beside a student's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from seamlight.document import Document, Figure
from seamlight.mistake import Mistake
from seamlight.shop.tables import Reading
from seamlight.units import Unit, parse_length

VERB = "typed"
TEACHERS, STUDENTS = "teacher", "student"
STUDENT_GONE = "by_a_student"

# What may be measured by hand, and in which unit it is kept.
MEASURES: dict[str, str] = {
    "top thickness": "mm",
    "back thickness": "mm",
    "side thickness": "mm",
    "gap in the joint": "mm",
    "room to spare": "mm",
    "lines per inch": "",
    "grain tilt": "deg",
    "top weight": "g",
    "back weight": "g",
    "tap note": "Hz",
}


class TypedDocument(Document):
    """One figure as someone measured it; lengths are mm."""

    schema_: Literal["seamlight/typed/1"] = Field(default="seamlight/typed/1", alias="schema")
    what: str
    place: str = ""  # where on the part; may be empty
    value: Figure
    unit: str


@dataclass(frozen=True)
class Beside:
    """The same thing measured by both; either may be missing. `others`: who had the instrument before."""

    what: str
    place: str
    unit: str
    teachers: Reading | None
    students: Reading | None
    others: tuple[Reading, ...] = ()

    @property
    def apart(self) -> float | None:
        """Student's figure less the teacher's, in `unit`; None where one is missing."""
        if self.teachers is None or self.students is None:
            return None
        return float(self.students.document["value"]) - float(self.teachers.document["value"])


def typed_reading(what: str, value: str, place: str, unit: Unit) -> TypedDocument:
    """A figure as a person typed it.

    Args:
        what: one of `MEASURES`.
        value: a length may say its unit; other figures are plain numbers.
        place: where on the part, in a few words.
        unit: the shop's, which a bare length takes.

    Raises:
        Mistake: there is no such measure, or the value is none.
    """
    if what not in MEASURES:
        raise Mistake(f"{what!r} is nothing that is measured here", where="what", do="choose one of the list")
    kept_in = MEASURES[what]
    number = parse_length(value, unit, where="value") if kept_in == "mm" else _number(value)
    return TypedDocument(what=what, place=" ".join(place.split())[:60], value=number, unit=kept_in)


def _number(typed: str) -> float:
    try:
        number = float(typed.strip().replace(",", "."))
    except ValueError:
        number = float("nan")
    if not 0 <= number < 1e6:
        raise Mistake(f"{typed!r} is no number", where="value", do="write it like 21 or 4.5")
    return number


def is_students(reading: Reading) -> bool:
    """Whether a student took it: one of now, or one whose row went for good, see `purge`."""
    return reading.student_id is not None or bool(reading.says.get(STUDENT_GONE))


def _whose(reading: Reading, student_id: int | None) -> str:
    """The teacher's, the student's, or another student's by number or name."""
    if not is_students(reading):
        return TEACHERS
    if student_id in (None, reading.student_id):
        return STUDENTS
    return f"{reading.student_id or ''} {reading.by}"


def side_by_side(readings: Iterable[Reading], student_id: int | None = None) -> list[Beside]:
    """Newest typed readings of teacher and student, matched by what was measured and where.

    Args:
        readings: of one instrument, oldest first.
        student_id: whose it is now; another student's readings are never theirs. None: any student's.
    """
    newest: dict[tuple[str, str], dict[str, Reading]] = {}
    for reading in readings:
        if reading.verb == VERB:
            key = (reading.document["what"], reading.document["place"].casefold())
            newest.setdefault(key, {})[_whose(reading, student_id)] = reading
    rows = []
    for (what, _), found in newest.items():
        one = next(iter(found.values()))
        others = tuple(reading for whose, reading in found.items() if whose not in (TEACHERS, STUDENTS))
        both = found.get(TEACHERS), found.get(STUDENTS)
        rows.append(Beside(what, one.document["place"], MEASURES[what], *both, others))
    order = list(MEASURES)
    return sorted(rows, key=lambda row: (order.index(row.what), row.place.casefold()))
