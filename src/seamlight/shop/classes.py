"""Classes, their students, and a student's instruments."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.missing import Missing
from seamlight.shop.numbered import row_of
from seamlight.shop.tables import Assignment, Build, Class, Device, Pair, PairPhoto, Student

NAME_LENGTH = 80


def new_class(change: Change, name: str, starts_on: date | None = None) -> Class:
    """A new class.

    Raises:
        Mistake: it has no name.
    """
    row = Class(name=_name(name, "a class"), starts_on=starts_on)
    change.session.add(row)
    change.session.flush()
    change.record("class", row.id, "made", after={"name": row.name, "starts_on": starts_on})
    return row


def edit_class(change: Change, class_id: int, name: str, starts_on: date | None) -> Class:
    """Give a class another name or day.

    Raises:
        Mistake: there is none, or it has no name.
    """
    row = the_class(change.session, class_id)
    before = {"name": row.name, "starts_on": row.starts_on}
    row.name, row.starts_on = _name(name, "a class"), starts_on
    change.record("class", row.id, "edited", before, {"name": row.name, "starts_on": starts_on})
    return row


def add_students(change: Change, class_id: int, names: str) -> list[Student]:
    """Add students, one name a line.

    Raises:
        Missing: there is no such class, or no name.
    """
    the_class(change.session, class_id)
    wanted = [_name(line, "a student", "names") for line in names.splitlines() if line.strip()]
    if not wanted:
        raise Mistake("no name was typed", where="names", do="write one name a line")
    rows = [Student(class_id=class_id, name=name) for name in wanted]
    change.session.add_all(rows)
    change.session.flush()
    for row in rows:
        change.record("student", row.id, "added", after={"name": row.name, "class_id": class_id})
    return rows


def rename_student(change: Change, student_id: int, name: str) -> Student:
    """Give a student another name.

    Raises:
        Mistake: there is none, or the name is empty.
    """
    row = the_student(change.session, student_id)
    before, row.name = row.name, _name(name, "a student")
    change.record("student", row.id, "renamed", {"name": before}, {"name": row.name})
    return row


def give_build(change: Change, student_id: int, build_id: int) -> Build:
    """Make an instrument a student's.

    Raises:
        Missing: there is no such student or build, or it is another student's.
    """
    student = the_student(change.session, student_id)
    build = kept.find(change.session, Build, build_id)
    if build.student_id not in (None, student_id):
        raise Mistake("belongs to another student", where=build.label, do="take it from them first")
    kept.edit(change, build, {"student_id": student.id, "class_id": student.class_id}, expected_version=None)
    return build


def take_build(change: Change, student_id: int, build_id: int) -> Build:
    """Take an instrument from a student again; its readings stay.

    Raises:
        Mistake: it is not theirs.
    """
    build = kept.find(change.session, Build, build_id)
    if build.student_id != student_id:
        raise Mistake("is not this student's", where=build.label, do="look again")
    kept.edit(change, build, {"student_id": None, "class_id": None}, expected_version=None)
    return build


def the_class(session: Session, class_id: int) -> Class:
    """The class of that number.

    Raises:
        Missing: there is none.
    """
    row = row_of(session, Class, class_id)
    if row is None:
        raise Missing("there is no such class", do="choose one of the list")
    return row


def the_student(session: Session, student_id: int) -> Student:
    """The student of that number.

    Raises:
        Missing: there is none.
    """
    row = row_of(session, Student, student_id)
    if row is None:
        raise Missing("there is no such student", do="choose one of a class")
    return row


def classes(session: Session) -> list[tuple[Class, int]]:
    """Classes with their number of students, newest first."""
    query = (
        select(Class, func.count(Student.id))
        .outerjoin(Student, Student.class_id == Class.id)
        .group_by(Class.id)
        .order_by(Class.id.desc())
    )
    return [(row, count) for row, count in session.execute(query)]


def students(session: Session, class_id: int) -> list[tuple[Student, list[Build], int]]:
    """Students of a class by name, their instruments, and how many devices see their page."""
    rows = list(session.scalars(select(Student).where(Student.class_id == class_id).order_by(Student.name)))
    return [(row, builds_of(session, row.id), devices_of(session, row.id)) for row in rows]


def builds_of(session: Session, student_id: int) -> list[Build]:
    """A student's instruments."""
    query = select(Build).where(Build.student_id == student_id, Build.deleted_at.is_(None))
    return list(session.scalars(query.order_by(Build.id)))


def free_builds(session: Session) -> list[Build]:
    """Instruments that are no student's yet."""
    query = select(Build).where(Build.student_id.is_(None), Build.deleted_at.is_(None))
    return list(session.scalars(query.order_by(Build.label)))


def devices_of(session: Session, student_id: int) -> int:
    """How many devices see this student's page."""
    query = select(func.count(Device.id)).where(Device.student_id == student_id, Device.revoked_at.is_(None))
    return session.scalar(query) or 0


def wood_of(session: Session, build_id: int) -> list[tuple[str, Pair, list[PairPhoto]]]:
    """The pairs given to an instrument: for which part, the pair, its pictures."""
    query = (
        select(Assignment.part, Pair)
        .join(Pair, Pair.id == Assignment.pair_id)
        .where(Assignment.build_id == build_id, Pair.deleted_at.is_(None))
        .order_by(Assignment.part.desc())
    )
    return [(part, pair, _pictures(session, pair.id)) for part, pair in session.execute(query)]


def _pictures(session: Session, pair_id: int) -> list[PairPhoto]:
    roles = ("opened", "joined", "a", "b")
    query = select(PairPhoto).where(
        PairPhoto.pair_id == pair_id, PairPhoto.deleted_at.is_(None), PairPhoto.role.in_(roles)
    )
    return sorted(session.scalars(query), key=lambda photo: (roles.index(photo.role), photo.id))


def _name(typed: str, of: str, where: str = "name") -> str:
    name = " ".join(typed.split())
    if not name:
        raise Mistake(f"{of} needs a name", where=where, do="write one")
    return name[:NAME_LENGTH]
