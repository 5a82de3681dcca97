"""Tables of the wood: kept files, pairs, what was read of them and done to them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from seamlight.shop.tables_row import NEVER_AGAIN, Fields, Row, number_of, own_id


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
    id: Mapped[int] = own_id()
    file_sha256: Mapped[str] = number_of("file.sha256")
    upload_key: Mapped[str] = mapped_column(unique=True)
    name_given: Mapped[str | None]
    scale_spec: Mapped[str | None]
    thickness_mm: Mapped[float | None]
    taken_at: Mapped[datetime | None]
    at: Mapped[datetime]
    by: Mapped[str]
    pair_id: Mapped[int | None] = number_of("pair.id", optional=True)
    state: Mapped[str] = mapped_column(default="new", index=True)  # new, filed, dropped


class Pair(Row):
    """A pair of leaves, or another piece of stock."""

    __tablename__ = "pair"
    id: Mapped[int] = own_id()
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
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = number_of("pair.id")
    file_sha256: Mapped[str] = number_of("file.sha256")
    role: Mapped[str]
    taken_at: Mapped[datetime | None]
    added_at: Mapped[datetime]
    arrival: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str | None]
    deleted_at: Mapped[datetime | None]


class Weight(Row):
    """What a pair or one leaf weighed."""

    __tablename__ = "weight"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = number_of("pair.id")
    leaf: Mapped[str]  # a, b, both
    grams: Mapped[float]
    at: Mapped[datetime]
    by: Mapped[str]


class Reading(Row):
    """One computed or typed reading; the newest counts, all are kept."""

    __tablename__ = "reading"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int | None] = number_of("pair.id", optional=True)
    build_id: Mapped[int | None] = number_of("build.id", optional=True)
    verb: Mapped[str]
    document: Mapped[Fields]
    files: Mapped[list[Any]]  # hashes of the photographs it was read from
    says: Mapped[Fields]  # the settings it was made with
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    at: Mapped[datetime] = mapped_column(index=True)
    by: Mapped[str]
    student_id: Mapped[int | None] = number_of("student.id", optional=True)
    deleted_at: Mapped[datetime | None]


class PairFigure(Row):
    """The figures a rack is sorted and filtered by; made again from the readings at any time."""

    __tablename__ = "pair_figure"
    __table_args__ = ()
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), primary_key=True, autoincrement=False)
    spare_mm: Mapped[float | None] = mapped_column(
        index=True
    )  # least: of the choice, else of the best opening
    spare_outline: Mapped[str | None]  # whose room that is
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
    spare_mm: Mapped[float | None]  # beside the outline
    end_spare_mm: Mapped[float | None]  # at its ends
    reading_id: Mapped[int] = number_of("reading.id")


class FlawEdit(Row):
    """What a person said about a leaf's flaws; always wins over what was found."""

    __tablename__ = "flaw_edit"
    __table_args__ = (UniqueConstraint("pair_id", "leaf"), NEVER_AGAIN)
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = number_of("pair.id")
    leaf: Mapped[str]  # a, b, other_a, other_b
    edits: Mapped[Fields]
    made_on: Mapped[str | None]  # hash of the photograph that it was said of
    boxes: Mapped[Fields | None]  # where the found flaws lay that it drops or replaces, by their numbers
    version: Mapped[int] = mapped_column(default=1)
    at: Mapped[datetime]
    by: Mapped[str]


class Choice(Row):
    """How a pair shall be opened and where the outline lies; one for a pair."""

    __tablename__ = "choice"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), unique=True)
    outline: Mapped[Fields]  # {"name": ...} or {"file": sha256}
    opening: Mapped[Fields]
    placing: Mapped[Fields | None]
    settings: Mapped[Fields]
    document: Mapped[Fields]
    made_on: Mapped[Fields | None]  # hash of each leaf's photograph that it was chosen on
    version: Mapped[int] = mapped_column(default=1)
    at: Mapped[datetime]
    by: Mapped[str]
    deleted_at: Mapped[datetime | None]


class Planed(Row):
    """Wood planed off a joint edge: the running tally against the room left."""

    __tablename__ = "planed"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = number_of("pair.id")
    leaf: Mapped[str]  # a, b, both
    mm: Mapped[float]
    note: Mapped[str | None]
    at: Mapped[datetime]
    by: Mapped[str]


class StageEvent(Row):
    """A pair reached a stage."""

    __tablename__ = "stage_event"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int] = number_of("pair.id")
    stage: Mapped[str]
    at: Mapped[datetime]
    by: Mapped[str]
    note: Mapped[str | None]


class Clamp(Row):
    """Something in the clamps, and until when."""

    __tablename__ = "clamp"
    id: Mapped[int] = own_id()
    pair_id: Mapped[int | None] = number_of("pair.id", optional=True)
    build_id: Mapped[int | None] = number_of("build.id", optional=True)
    what: Mapped[str]
    glue_key: Mapped[str]
    at: Mapped[datetime]
    off_at: Mapped[datetime]  # may leave the clamps
    work_at: Mapped[datetime]  # may be worked
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    ended_at: Mapped[datetime | None]
    by: Mapped[str]
