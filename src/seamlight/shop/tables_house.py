"""Tables of the house: settings, the air, work in the background, and the history of everything."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from seamlight.shop.tables_row import NEVER_AGAIN, Fields, Row, own_id


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
    id: Mapped[int] = own_id()
    at: Mapped[datetime] = mapped_column(index=True)
    temp_c: Mapped[float | None]
    rh_pct: Mapped[float | None]
    by: Mapped[str]
    note: Mapped[str | None]


class Job(Row):
    """Work in the background."""

    __tablename__ = "job"
    id: Mapped[int] = own_id()
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


class Sent(Row):
    """A form that was sent and kept; `form` is its number as it was shown, `key` that with what it said."""

    __tablename__ = "sent"
    __table_args__ = ()
    key: Mapped[str] = mapped_column(primary_key=True)
    form: Mapped[str] = mapped_column(index=True)
    address: Mapped[str | None]  # where the answer led
    at: Mapped[datetime] = mapped_column(index=True)


class History(Row):
    """One change of a pair, a build or another subject; `version` is the subject's own after it."""

    __tablename__ = "history"
    __table_args__ = (Index("ix_history_subject_subject_id", "subject", "subject_id"), NEVER_AGAIN)
    id: Mapped[int] = own_id()
    subject: Mapped[str]
    subject_id: Mapped[int]
    what: Mapped[str]
    version: Mapped[int | None]
    before: Mapped[Fields | None]
    after: Mapped[Fields | None]
    at: Mapped[datetime] = mapped_column(index=True)
    by: Mapped[str]
