"""Classes, their students, and a student's instruments."""

from __future__ import annotations

from datetime import date

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.tables import Assignment, Build, Class, Device, Pair, PairPhoto, Student

NAME_LENGTH = 80
MOST_AT_ONCE = 60  # students added in one go
IN_A_CLASS = and_(Student.deleted_at.is_(None), Class.deleted_at.is_(None))


def new_class(change: Change, name: str, starts_on: date | None = None) -> Class:
    """A new class.

    Raises:
        Mistake: it has no name.
    """
    return kept.make(change, Class(name=_name(name, "a class"), starts_on=starts_on))


def edit_class(
    change: Change, class_id: int, name: str, starts_on: date | None, *, expected_version: int | None = None
) -> Class:
    """Give a class another name or day.

    Raises:
        Conflict: someone else changed it since `expected_version`.
        Mistake: there is none, or it has no name.
    """
    row = the_class(change.session, class_id)
    values = {"name": _name(name, "a class"), "starts_on": starts_on}
    kept.edit(change, row, values, expected_version=expected_version)
    return row


def delete_class(change: Change, class_id: int, *, expected_version: int | None = None) -> Class:
    """Put a class among the recently deleted: its students' pages and links open nothing meanwhile.

    Raises:
        Conflict: someone else changed it since `expected_version`.
        Missing: there is none.
    """
    row = the_class(change.session, class_id)
    kept.delete(change, row, expected_version=expected_version)
    return row


def bring_back_class(change: Change, class_id: int) -> Class:
    """Bring a deleted class back, with those of its students that were not deleted themselves."""
    row = kept.find(change.session, Class, class_id, deleted=True)
    kept.bring_back(change, row)
    return row


def add_students(change: Change, class_id: int, names: str) -> list[Student]:
    """Add students, one name a line.

    Raises:
        Missing: there is no such class, or no name.
    """
    the_class(change.session, class_id)
    lines = [line for line in names.splitlines() if line.strip()]
    if len(lines) > MOST_AT_ONCE:
        raise Mistake(
            f"{len(lines):,} names are too many at once", where="names", do=f"add up to {MOST_AT_ONCE}"
        )
    wanted = [_name(line, "a student", "names") for line in lines]
    if not wanted:
        raise Mistake("no name was typed", where="names", do="write one name a line")
    return [kept.make(change, Student(class_id=class_id, name=name), "added") for name in wanted]


def rename_student(
    change: Change, student_id: int, name: str, *, expected_version: int | None = None
) -> Student:
    """Give a student another name.

    Raises:
        Conflict: someone else changed it since `expected_version`.
        Mistake: there is none, or the name is empty.
    """
    row = the_student(change.session, student_id)
    values = {"name": _name(name, "a student")}
    kept.edit(change, row, values, expected_version=expected_version, what="renamed")
    return row


def delete_student(change: Change, student_id: int, *, expected_version: int | None = None) -> Student:
    """Put a student among the recently deleted: their page and their link open nothing meanwhile.

    Their instruments stay, and may be given to another.

    Raises:
        Conflict: someone else changed it since `expected_version`.
        Missing: there is none.
    """
    row = the_student(change.session, student_id)
    kept.delete(change, row, expected_version=expected_version)
    return row


def bring_back_student(change: Change, student_id: int) -> Student:
    """Bring a deleted student back, with what was not given to another meanwhile.

    Raises:
        Missing: their class was deleted, too.
    """
    row = kept.find(change.session, Student, student_id, deleted=True)
    the_class(change.session, row.class_id)
    kept.bring_back(change, row)
    return row


def give_build(change: Change, student_id: int, build_id: int) -> Build:
    """Make an instrument a student's; one whose student was deleted may be given to another.

    Raises:
        Missing: there is no such student or build, or it is another student's.
    """
    student = the_student(change.session, student_id)
    build = kept.find(change.session, Build, build_id)
    owner = live_student(change.session, build.student_id)
    if owner is not None and owner.id != student_id:
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
        Missing: there is none, or it was deleted.
    """
    return kept.find(session, Class, class_id)


def the_student(session: Session, student_id: int) -> Student:
    """The student of that number.

    Raises:
        Missing: there is none, or the student or the class was deleted.
    """
    row = kept.find(session, Student, student_id)
    the_class(session, row.class_id)
    return row


def live_student(session: Session, student_id: int | None) -> Student | None:
    """The student, unless they or their class were deleted: whoever a class link still opens a page for."""
    query = select(Student).where(Student.id == student_id, IN_A_CLASS)
    return session.scalar(query.join(Class, Class.id == Student.class_id))


def classes(session: Session) -> list[tuple[Class, int]]:
    """Classes with their number of students, newest first."""
    query = (
        select(Class, func.count(Student.id))
        .outerjoin(Student, and_(Student.class_id == Class.id, Student.deleted_at.is_(None)))
        .where(Class.deleted_at.is_(None))
        .group_by(Class.id)
        .order_by(Class.id.desc())
    )
    return [(row, count) for row, count in session.execute(query)]


def students(session: Session, class_id: int) -> list[tuple[Student, list[Build], int]]:
    """Students of a class by name, their instruments, and how many devices see their page."""
    query = select(Student).where(Student.class_id == class_id, Student.deleted_at.is_(None))
    rows = session.scalars(query.order_by(Student.name))
    return [(row, builds_of(session, row.id), devices_of(session, row.id)) for row in rows]


def builds_of(session: Session, student_id: int) -> list[Build]:
    """A student's instruments."""
    query = select(Build).where(Build.student_id == student_id, Build.deleted_at.is_(None))
    return list(session.scalars(query.order_by(Build.id)))


def free_builds(session: Session) -> list[Build]:
    """Instruments that are no student's yet, or whose student was deleted."""
    owners = select(Student.id).join(Class, Class.id == Student.class_id).where(IN_A_CLASS)
    free = or_(Build.student_id.is_(None), Build.student_id.not_in(owners))
    query = select(Build).where(free, Build.deleted_at.is_(None))
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
