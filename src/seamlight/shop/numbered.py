"""A row by its number."""

from __future__ import annotations

from typing import TypeVar

from sqlalchemy.orm import Session

from seamlight.shop.missing import Missing
from seamlight.shop.tables import Row

Any_ = TypeVar("Any_", bound=Row)
LARGEST = 2**31 - 1  # an INTEGER of PostgreSQL


def numbered(session: Session, table: type[Any_], number: int, named: str) -> Any_:
    """The row of that number.

    Args:
        session: where to look.
        table: among what.
        number: as it was asked for; any integer.
        named: what a person calls it: pair, photograph, job.

    Raises:
        Missing: there is none.
    """
    row = row_of(session, table, number)
    if row is None:
        raise Missing(f"there is no {named} {number}", do="look at the list")
    return row


def row_of(session: Session, table: type[Any_], number: int) -> Any_ | None:
    """The row of that number, whatever integer was asked for; None where there is none."""
    return session.get(table, number) if 0 < number <= LARGEST else None
