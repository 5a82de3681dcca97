"""Feelers as they come from a joint's page: lines typed, a CSV file, or the table of both faces."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import UploadFile

from seamlight.mistake import Mistake
from seamlight.units import Unit
from seamlight.web.seam_asked import table_rows
from seamlight.web.uploads import plain_name

MOST_BYTES = 100_000


def readings_text(
    typed: str, file: UploadFile | None, columns: Sequence[Sequence[str]], unit: Unit
) -> tuple[str, Unit]:
    """The readings as text, and the unit of its bare numbers: what was typed, else the file, else the table.

    Raises:
        Mistake: nothing was given, a file that is no text, or a table that is not complete.
    """
    if typed.strip():
        return typed, unit
    if file is not None and file.filename:
        data = file.file.read(MOST_BYTES + 1)
        name = plain_name(file.filename)
        if len(data) > MOST_BYTES:
            raise Mistake("is too long for readings of a joint", where=name, do="give rows such as 0, 0.05")
        try:
            return data.decode("utf-8-sig"), "mm"  # as the command reads a file
        except UnicodeDecodeError:
            raise Mistake("is no text file", where=name, do="save the table as CSV") from None
    return _as_lines(columns, unit), "mm"


def _as_lines(columns: Sequence[Sequence[str]], unit: Unit) -> str:
    """The table of both faces as lines in mm; a column of back faces only where all of it was read."""
    rows = table_rows(columns, unit, "faces")
    if not rows:
        raise Mistake("no reading was typed", where="readings", do="write the gap at each place")
    backs = [back for _, _, back in rows if back is not None]
    if backs and len(backs) != len(rows):
        raise Mistake("the back face was not read everywhere", where="faces", do="0 where nothing goes in")
    return "\n".join(
        "; ".join(f"{one:.4f}" for one in (at, front, back) if one is not None) for at, front, back in rows
    )
