"""Tables of people and instruments: classes, students, builds, and the devices that may ask."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, synonym

from seamlight.shop.tables_row import NEVER_AGAIN, Fields, Row, number_of, own_id


class Class(Row):
    """A building class."""

    __tablename__ = "class_"
    id: Mapped[int] = own_id()
    name: Mapped[str]
    label: Mapped[str] = synonym("name")  # what every kept thing is called by
    starts_on: Mapped[date | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]


class Student(Row):
    """One of a class."""

    __tablename__ = "student"
    id: Mapped[int] = own_id()
    class_id: Mapped[int] = number_of("class_.id")
    name: Mapped[str]
    label: Mapped[str] = synonym("name")
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]


class Build(Row):
    """An instrument that is wanted."""

    __tablename__ = "build"
    id: Mapped[int] = own_id()
    label: Mapped[str]
    for_whom: Mapped[str | None]
    outline: Mapped[Fields | None]
    kind_wishes: Mapped[Fields | None]
    want_by: Mapped[date | None]
    notes: Mapped[str | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]
    class_id: Mapped[int | None] = number_of("class_.id", optional=True)
    student_id: Mapped[int | None] = number_of("student.id", optional=True)


class Assignment(Row):
    """A pair given to a part of a build."""

    __tablename__ = "assignment"
    __table_args__ = (UniqueConstraint("build_id", "part"), NEVER_AGAIN)
    id: Mapped[int] = own_id()
    build_id: Mapped[int] = number_of("build.id")
    part: Mapped[str]  # top, back
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), unique=True)
    locked: Mapped[bool] = mapped_column(default=False)
    at: Mapped[datetime]
    by: Mapped[str]
    why: Mapped[str | None]


class Device(Row):
    """A phone, a desk or a class's screen that may ask."""

    __tablename__ = "device"
    id: Mapped[int] = own_id()
    name: Mapped[str]
    token_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]  # device, class
    student_id: Mapped[int | None] = number_of("student.id", optional=True)
    paired_at: Mapped[datetime]
    seen_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]


class Link(Row):
    """A link that lets a device in once."""

    __tablename__ = "link"
    id: Mapped[int] = own_id()
    token_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    student_id: Mapped[int | None] = number_of("student.id", optional=True)
    made_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class WrongTry(Row):
    """A wrong link was tried."""

    __tablename__ = "wrong_try"
    id: Mapped[int] = own_id()
    at: Mapped[datetime] = mapped_column(index=True)
    from_address: Mapped[str]
