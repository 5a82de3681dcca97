"""The tables of a shop: wood, builds, people, and what the program itself remembers.

Lengths mm, weights g, temperatures deg C, humidity % RH, times UTC, money in hundredths.
Every figure of a reading stays in its JSON document; `pair_figure` and `pair_fit` repeat the few that a
rack is sorted by and can be made again from the documents.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import JSON, Date, Double, ForeignKey, Index, MetaData, String, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from seamlight.shop.times import UtcTime

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

Fields = dict[str, Any]

# A number given to a thing once is never given to another: labels on wood carry it.
NEVER_AGAIN = {"sqlite_autoincrement": True}


class Row(DeclarativeBase):
    """What every table has in common: names of keys, and how Python types are kept."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcTime(),
        date: Date(),
        float: Double(),
        Fields: JSON(none_as_null=True),
        list[Any]: JSON(none_as_null=True),
    }
    __table_args__: Any = NEVER_AGAIN


def _id() -> Mapped[int]:
    return mapped_column(primary_key=True, autoincrement=True)


def _to(column: str, *, index: bool = True, optional: bool = False) -> Any:
    return mapped_column(ForeignKey(column), index=index, nullable=optional)


class File(Row):
    """A kept file: `photos/<sha256>`."""

    __tablename__ = "file"
    __table_args__ = ()
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    media_type: Mapped[str]
    size: Mapped[int]
    width_px: Mapped[int | None]
    height_px: Mapped[int | None]
    added_at: Mapped[datetime]


class Arrival(Row):
    """A photograph taken in; `upload_key` is the sender's own, so that sending twice is one."""

    __tablename__ = "arrival"
    id: Mapped[int] = _id()
    file_sha256: Mapped[str] = _to("file.sha256")
    upload_key: Mapped[str] = mapped_column(unique=True)
    name_given: Mapped[str | None]
    scale_spec: Mapped[str | None]
    thickness_mm: Mapped[float | None]
    taken_at: Mapped[datetime | None]
    at: Mapped[datetime]
    by: Mapped[str]
    pair_id: Mapped[int | None] = _to("pair.id", optional=True)
    state: Mapped[str] = mapped_column(default="new", index=True)  # new, filed, dropped


class Pair(Row):
    """A pair of leaves, or another piece of stock."""

    __tablename__ = "pair"
    id: Mapped[int] = _id()
    label: Mapped[str]
    label_key: Mapped[str] = mapped_column(unique=True)  # the label without case and spaces
    kind: Mapped[str] = mapped_column(index=True)
    species_key: Mapped[str | None] = mapped_column(index=True)
    species_common: Mapped[str | None]
    species_botanical: Mapped[str | None]
    supplier: Mapped[str | None]
    price_minor: Mapped[int | None]
    currency: Mapped[str | None]
    bought_on: Mapped[date | None]
    thickness_mm: Mapped[float | None]
    lies_at: Mapped[str | None]
    reserved_for: Mapped[str | None]
    notes: Mapped[str | None]
    stage: Mapped[str] = mapped_column(default="rough", index=True)
    grade_by_eye: Mapped[str | None]
    scale_spec: Mapped[str | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]


class PairPhoto(Row):
    """A file of a pair and what it shows."""

    __tablename__ = "pair_photo"
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = _to("pair.id")
    file_sha256: Mapped[str] = _to("file.sha256")
    role: Mapped[str]
    taken_at: Mapped[datetime | None]
    added_at: Mapped[datetime]
    arrival: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str | None]
    deleted_at: Mapped[datetime | None]


class Weight(Row):
    """What a pair or one leaf weighed."""

    __tablename__ = "weight"
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = _to("pair.id")
    leaf: Mapped[str]  # a, b, both
    grams: Mapped[float]
    at: Mapped[datetime]
    by: Mapped[str]


class Reading(Row):
    """One computed or typed reading; the newest counts, all are kept."""

    __tablename__ = "reading"
    id: Mapped[int] = _id()
    pair_id: Mapped[int | None] = _to("pair.id", optional=True)
    build_id: Mapped[int | None] = _to("build.id", optional=True)
    verb: Mapped[str]
    document: Mapped[Fields]
    files: Mapped[list[Any]]  # hashes of the photographs it was read from
    says: Mapped[Fields]  # the settings it was made with
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    at: Mapped[datetime] = mapped_column(index=True)
    by: Mapped[str]
    student_id: Mapped[int | None] = _to("student.id", optional=True)
    deleted_at: Mapped[datetime | None]


class PairFigure(Row):
    """The figures a rack is sorted and filtered by; made again from the readings at any time."""

    __tablename__ = "pair_figure"
    __table_args__ = ()
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), primary_key=True, autoincrement=False)
    spare_mm: Mapped[float | None] = mapped_column(index=True)  # in the choice, else in the best opening
    lines_per_inch: Mapped[float | None] = mapped_column(index=True)
    length_mm: Mapped[float | None]
    width_mm: Mapped[float | None]  # of one leaf, at its narrower end
    grade: Mapped[str | None]


class PairFit(Row):
    """Whether an outline fits a pair, from its newest layout for that outline."""

    __tablename__ = "pair_fit"
    __table_args__ = ()
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), primary_key=True, autoincrement=False)
    outline: Mapped[str] = mapped_column(primary_key=True)  # a stock name or a file's hash
    fits: Mapped[bool]
    spare_mm: Mapped[float | None]
    reading_id: Mapped[int] = _to("reading.id")


class FlawEdit(Row):
    """What a person said about a leaf's flaws; always wins over what was found."""

    __tablename__ = "flaw_edit"
    __table_args__ = (UniqueConstraint("pair_id", "leaf"), NEVER_AGAIN)
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = _to("pair.id")
    leaf: Mapped[str]  # a, b
    edits: Mapped[Fields]
    version: Mapped[int] = mapped_column(default=1)
    at: Mapped[datetime]
    by: Mapped[str]


class Choice(Row):
    """How a pair shall be opened and where the outline lies; one for a pair."""

    __tablename__ = "choice"
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), unique=True)
    outline: Mapped[Fields]  # {"name": ...} or {"file": sha256}
    opening: Mapped[Fields]
    placing: Mapped[Fields | None]
    settings: Mapped[Fields]
    document: Mapped[Fields]
    version: Mapped[int] = mapped_column(default=1)
    at: Mapped[datetime]
    by: Mapped[str]
    deleted_at: Mapped[datetime | None]


class Planed(Row):
    """Wood planed off a joint edge: the running tally against the room left."""

    __tablename__ = "planed"
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = _to("pair.id")
    leaf: Mapped[str]  # a, b, both
    mm: Mapped[float]
    note: Mapped[str | None]
    at: Mapped[datetime]
    by: Mapped[str]


class StageEvent(Row):
    """A pair reached a stage."""

    __tablename__ = "stage_event"
    id: Mapped[int] = _id()
    pair_id: Mapped[int] = _to("pair.id")
    stage: Mapped[str]
    at: Mapped[datetime]
    by: Mapped[str]
    note: Mapped[str | None]


class Clamp(Row):
    """Something in the clamps, and until when."""

    __tablename__ = "clamp"
    id: Mapped[int] = _id()
    pair_id: Mapped[int | None] = _to("pair.id", optional=True)
    build_id: Mapped[int | None] = _to("build.id", optional=True)
    what: Mapped[str]
    glue_key: Mapped[str]
    at: Mapped[datetime]
    off_at: Mapped[datetime]  # may leave the clamps
    work_at: Mapped[datetime]  # may be worked
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    ended_at: Mapped[datetime | None]
    by: Mapped[str]


class Class(Row):
    """A building class."""

    __tablename__ = "class_"
    id: Mapped[int] = _id()
    name: Mapped[str]
    starts_on: Mapped[date | None]


class Student(Row):
    """One of a class."""

    __tablename__ = "student"
    id: Mapped[int] = _id()
    class_id: Mapped[int] = _to("class_.id")
    name: Mapped[str]


class Build(Row):
    """An instrument that is wanted."""

    __tablename__ = "build"
    id: Mapped[int] = _id()
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
    class_id: Mapped[int | None] = _to("class_.id", optional=True)
    student_id: Mapped[int | None] = _to("student.id", optional=True)


class Assignment(Row):
    """A pair given to a part of a build."""

    __tablename__ = "assignment"
    __table_args__ = (UniqueConstraint("build_id", "part"), NEVER_AGAIN)
    id: Mapped[int] = _id()
    build_id: Mapped[int] = _to("build.id")
    part: Mapped[str]  # top, back
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), unique=True)
    locked: Mapped[bool] = mapped_column(default=False)
    at: Mapped[datetime]
    by: Mapped[str]
    why: Mapped[str | None]


class Setting(Row):
    """One of the shop's own figures."""

    __tablename__ = "setting"
    __table_args__ = ()
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Fields]  # {"is": anything}
    version: Mapped[int] = mapped_column(default=1)


class Air(Row):
    """The shop's air."""

    __tablename__ = "air"
    id: Mapped[int] = _id()
    at: Mapped[datetime] = mapped_column(index=True)
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    by: Mapped[str]
    note: Mapped[str | None]


class Device(Row):
    """A phone, a desk or a class's screen that may ask."""

    __tablename__ = "device"
    id: Mapped[int] = _id()
    name: Mapped[str]
    token_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]  # device, class
    student_id: Mapped[int | None] = _to("student.id", optional=True)
    paired_at: Mapped[datetime]
    seen_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]


class Link(Row):
    """A link that lets a device in once."""

    __tablename__ = "link"
    id: Mapped[int] = _id()
    token_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    student_id: Mapped[int | None] = _to("student.id", optional=True)
    made_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class WrongTry(Row):
    """A wrong link was tried."""

    __tablename__ = "wrong_try"
    id: Mapped[int] = _id()
    at: Mapped[datetime] = mapped_column(index=True)
    from_address: Mapped[str]


class Job(Row):
    """Work in the background."""

    __tablename__ = "job"
    id: Mapped[int] = _id()
    kind: Mapped[str]
    subject: Mapped[str | None]
    subject_id: Mapped[int | None]
    payload: Mapped[Fields]
    state: Mapped[str] = mapped_column(default="waiting", index=True)
    done: Mapped[int] = mapped_column(default=0)
    of: Mapped[int | None]
    says: Mapped[str | None]
    asked_at: Mapped[datetime]
    started_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0)


class History(Row):
    """One change of a pair, a build or another subject; `version` is the subject's own after it."""

    __tablename__ = "history"
    __table_args__ = (Index("ix_history_subject_subject_id", "subject", "subject_id"), NEVER_AGAIN)
    id: Mapped[int] = _id()
    subject: Mapped[str]
    subject_id: Mapped[int]
    what: Mapped[str]
    version: Mapped[int | None]
    before: Mapped[Fields | None]
    after: Mapped[Fields | None]
    at: Mapped[datetime] = mapped_column(index=True)
    by: Mapped[str]
