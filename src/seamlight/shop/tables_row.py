"""What every table of a shop has in common: names of keys, and how Python types are kept."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import JSON, Date, Double, ForeignKey, MetaData
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


def own_id() -> Mapped[int]:
    """A row's own number."""
    return mapped_column(primary_key=True, autoincrement=True)


def number_of(column: str, *, index: bool = True, optional: bool = False) -> Any:
    """The number of a row of another table: `column` is "pair.id" or the like."""
    return mapped_column(ForeignKey(column), index=index, nullable=optional)
