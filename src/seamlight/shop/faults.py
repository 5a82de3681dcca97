"""What the database refuses, told in one line."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError, OperationalError

from seamlight.mistake import Mistake

KNOWN = (
    ("disk is full", "the disk is full", "make room and do it again; what was kept is still there"),
    ("no space left", "the disk is full", "make room and do it again; what was kept is still there"),
    ("readonly database", "cannot be written to", "give yourself the right to write there"),
    ("unable to open database", "cannot be opened", "see that the folder is there and may be written to"),
    ("database is locked", "is busy with another change", "do it again in a moment"),
    ("disk i/o error", "the disk does not do as it should", "look after it, then run seamlight check"),
    ("malformed", "is damaged", "run seamlight check, then restore a backup"),
    ("not a database", "is no shop's database", "restore a backup"),
)


@contextmanager
def told(where: Path | str) -> Iterator[None]:
    """Raise a `Mistake` for what a person can mend; everything else goes on as it is."""
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as error:
        said = str(getattr(error, "orig", error)).lower()
        for sign, what, do in KNOWN:
            if sign in said:
                raise Mistake(what, where=str(where), do=do) from error
        if isinstance(error, OperationalError) and "connect" in said:
            raise Mistake(
                "the database does not answer", where=str(where), do="start it, or mend its URL"
            ) from error
        raise
