"""A thickness map: calliper readings typed as rows, and what is left to take where."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.plate.thickness import checked_thickness_mm
from seamlight.plate.thickness_map import Readings, read_readings, what_is_left
from seamlight.shop.plate_bench import THICKNESS, PieceName
from seamlight.shop.plate_documents import ThicknessDocument
from seamlight.shop.readings import newest
from seamlight.shop.tables import Reading
from seamlight.units import MM_PER_INCH, Unit
from seamlight.web.plate_charts import MapChart, map_chart

AsRows = Literal["grid", "places"]
_MOST_ROWS = 400


@dataclass(frozen=True)
class Mapped:
    """The newest map of a piece."""

    row: Reading
    document: ThicknessDocument
    chart: MapChart


def newest_map(session: Session, pair_id: int, piece: PieceName) -> Mapped | None:
    """The map that counts; None where none was typed."""
    row = newest(session, THICKNESS, pair_id=pair_id, piece=piece)
    if row is None:
        return None
    document = ThicknessDocument.model_validate(row.document)
    table = np.array(document.readings, dtype=np.float64)
    readings = Readings(table[:, :2], table[:, 2])
    return Mapped(row, document, map_chart(readings, document.left_mm, document.length_mm, document.width_mm))


def thickness_document(
    text: str, as_rows: AsRows, target_mm: float, size_mm: tuple[float, float], unit: Unit
) -> ThicknessDocument:
    """Typed readings beside a target.

    Args:
        as_rows: "grid": each line is a row of thicknesses across, the first at the neck end;
            "places": each line is along, across, thickness.
        size_mm: length and width of the piece.

    Raises:
        Mistake: what is no reading; fewer than three; a target that cannot be meant.
    """
    checked_thickness_mm(target_mm, where="target")
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > _MOST_ROWS:
        raise Mistake(f"more than {_MOST_ROWS} lines", where="rows", do="read fewer places")
    rows = "\n".join(_grid(lines, size_mm, unit) if as_rows == "grid" else _places(lines, unit))
    try:
        readings = read_readings(rows, where="rows")
    except Mistake as mistake:
        line = mistake.where.removeprefix("rows").removeprefix(", ")
        said = f"{line}: {mistake.what}" if line else mistake.what
        raise Mistake(said, where="rows", do=mistake.do) from mistake
    _inside(readings, size_mm)
    found = what_is_left(readings, target_mm)
    return ThicknessDocument(
        warnings=[],
        readings=[
            (float(x), float(y), float(t))
            for (x, y), t in zip(readings.at_mm, readings.thickness_mm, strict=True)
        ],
        target_mm=target_mm,
        left_mm=[float(value) for value in found.left_mm],
        stiff_mm=found.stiff_mm,
        length_mm=size_mm[0],
        width_mm=size_mm[1],
        lines=list(found.lines),
    )


def _cells(line: str) -> list[str]:
    """Figures of a line, apart by commas, semicolons, tabs or blanks; a comma may be a decimal one."""
    if re.search(r"[;\t]", line):
        return [cell.strip() for cell in re.split(r"[;\t]", line) if cell.strip()]
    words = line.split()
    if len(words) > 1 and not any(word.endswith(",") for word in words):
        return words
    return [cell.strip() for cell in line.split(",") if cell.strip()]


def _mm(cell: str, unit: Unit, number: int) -> str:
    """A figure as plain mm for the reader of maps."""
    try:
        value = float(cell.replace(",", "."))
    except ValueError:
        raise Mistake(
            f"line {number}: {cell!r} is no figure", where="rows", do="write numbers only"
        ) from None
    return f"{value * (MM_PER_INCH if unit == 'inch' else 1.0):.5f}"


def _grid(lines: list[str], size_mm: tuple[float, float], unit: Unit) -> list[str]:
    table = [[_mm(cell, unit, n) for cell in _cells(line)] for n, line in enumerate(lines, 1)]
    if not table:
        raise Mistake("no readings are typed", where="rows", do="read at least a 3 by 3 grid")
    uneven = next((n for n, row in enumerate(table, 1) if len(row) != len(table[0])), None)
    if uneven is not None:
        raise Mistake(
            f"line {uneven} has {len(table[uneven - 1])} figures, the first has {len(table[0])}",
            where="rows",
            do="type as many for each row",
        )
    long, wide = size_mm
    return [
        f"{(i + 0.5) / len(table) * long:.2f},{(j + 0.5) / len(row) * wide:.2f},{cell}"
        for i, row in enumerate(table)
        for j, cell in enumerate(row)
    ]


def _places(lines: list[str], unit: Unit) -> list[str]:
    return [",".join(_mm(cell, unit, n) for cell in _cells(line)) for n, line in enumerate(lines, 1)]


def _inside(readings: Readings, size_mm: tuple[float, float]) -> None:
    over = (readings.at_mm > np.array(size_mm) + 1.0).any(axis=1)
    if over.any():
        x, y = readings.at_mm[int(np.argmax(over))]
        raise Mistake(
            f"{x:g}, {y:g} lies off the piece ({size_mm[0]:g} by {size_mm[1]:g} mm)",
            where="rows",
            do="give along the grain first, then across",
        )
    if np.linalg.matrix_rank(readings.at_mm - readings.at_mm.mean(axis=0)) < 2:
        raise Mistake("all readings lie on one line", where="rows", do="read a grid")
