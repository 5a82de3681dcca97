"""Times as they are kept: UTC, always with their zone on the Python side."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


def utc_now() -> datetime:
    """The clock of the shop; tests hand in another."""
    return datetime.now(UTC)


class UtcTime(TypeDecorator[datetime]):
    """A moment in UTC; a time without a zone is refused rather than guessed."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Aware -> UTC; SQLite keeps it without the zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a kept time needs its zone")
        in_utc = value.astimezone(UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """UTC, with its zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
