"""Straightedge and feeler readings, typed or as CSV: `s_mm, gap_mm`, or `s_mm, front_mm, back_mm`.

s from the neck end. A header may name the columns and their unit (`s_in, gap_in`, `s_mm, gap_thou`); a unit
may also stand behind a number. Columns are parted by commas, semicolons, tabs or spaces; with decimal commas,
not by commas.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from seamlight.mistake import Mistake
from seamlight.seam.places import place_words, thin_words
from seamlight.seam.profile import Floats
from seamlight.units import Unit, parse_length

Of = Literal["joint", "one-edge", "folded"]

# half the step between thin feelers, 0.03 to 0.10 mm by 0.01 (DIN 2275:2014-03; sizes from memory)
FEELER_ERROR_MM = 0.005
PAPER_MM = 0.1  # office paper (from memory)
WIDEST_MM = 5.0  # wider is no joint but a slip of the pen
SHORTEST_JOINT_MM = 50.0
SLIP_FROM_MM = 0.1  # a leap this high, and so many times its neighbours, may be a slip of the decimal point
SLIP_TIMES = 5.0

# units behind a column's name, as `parse_length` has them
_NAMED = {"mm": "mm", "cm": "cm", "m": "m", "in": "inch", "inch": "inch", "inches": "inch"} | dict.fromkeys(
    ("thou", "mil", "mils"), "thou"
)
_ODD = ("um", "µm", "μm", "micron", "microns", "hundredths", "64ths", "ft")
_PLAIN = ("gap", "face", "front", "back", "end", "neck", "place")  # words, no units

_DO = "rows such as 0, 0.05 (mm from the neck end, gap), or 0, 0.05, 0.08 (front and back face)"


@dataclass(frozen=True, eq=False)
class Readings:
    """Gaps at places along a joint or an edge. `back_mm` is None where one face was read."""

    s_mm: Floats  # (n,) rising from the neck end
    front_mm: Floats  # (n,) the gap, or the gap on the face that shows
    back_mm: Floats | None
    error_mm: float = FEELER_ERROR_MM

    @property
    def middle_mm(self) -> Floats:
        """(n,) the gap in the middle of the thickness."""
        return self.front_mm if self.back_mm is None else (self.front_mm + self.back_mm) / 2


def load_readings(path: Path, unit: Unit = "mm") -> Readings:
    """Readings from a CSV file.

    Raises:
        Mistake: no such file, no text, or no readings in it.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise Mistake("no such file", where=str(path), do="check the name") from None
    except (OSError, UnicodeDecodeError):
        raise Mistake("is no text file", where=str(path), do=f"write {_DO}") from None
    return parse_readings(text, unit, where=str(path))


def parse_readings(text: str, unit: Unit = "mm", *, where: str = "") -> Readings:
    """Readings as typed, one place a line.

    Raises:
        Mistake: what is wrong, in which line.
    """
    lines = [(i, line.strip()) for i, line in enumerate(text.splitlines(), 1)]
    lines = [(i, line) for i, line in lines if line and not line.startswith("#")]
    if not lines:
        raise Mistake("holds no readings", where=where, do=f"write {_DO}")
    units: list[Unit | str] = [unit] * 3
    columns: int | None = None
    if re.match(r"[A-Za-z_]", lines[0][1]):
        names = [
            part.lower() for part in _parts(lines[0][1], next((m for m in ";\t," if m in lines[0][1]), None))
        ]
        columns, units = len(names), _units_of(names, unit, where)
        lines = lines[1:]
    mark = _mark([line for _, line in lines])
    rows = [(i, _parts(line, mark)) for i, line in lines]
    _check_columns(rows, columns, where)
    table = [[_number(text, units[k], where, i) for k, text in enumerate(parts)] for i, parts in rows]
    return _checked(np.array(table, dtype=np.float64), [i for i, _ in rows], where)


def _parts(line: str, mark: str | None) -> list[str]:
    """A line's fields; no mark: parted by spaces."""
    return [part.strip() for part in line.split(mark)]


def _mark(lines: Sequence[str]) -> str | None:
    """What parts the columns: the first of ; tab , that gives two or three in every line, else spaces."""
    for mark in (";", "\t", ","):
        fields = [_parts(line, mark) for line in lines]
        # two decimals in one field: spaces part them, the comma is decimal
        run_on = any(re.search(r"\d\s+[\d.]+$", part) for parts in fields for part in parts)
        if len({len(parts) for parts in fields}) == 1 and len(fields[0]) in (2, 3) and not run_on:
            return mark
    if lines and {len(line.split()) for line in lines} in ({2}, {3}):
        return None
    return next((mark for mark in (";", "\t", ",") if any(mark in line for line in lines)), None)


def _units_of(names: Sequence[str], unit: Unit, where: str) -> list[Unit | str]:
    """Each column's unit: the shop's where its name says none, else as the name says."""
    if len(names) not in (2, 3):
        raise Mistake(f"{len(names)} columns are named", where=where, do=f"write {_DO}")
    if len(names) == 3 and names[1].startswith("back"):
        raise Mistake("the back face comes first", where=where, do="write s, front, back")
    found: list[Unit | str] = []
    for name in names:
        ending = re.search(r"([_\s(]+)([^_\s()]+)\)?$", name)
        said = ending[2] if ending is not None else ""
        odd = said in _ODD or (ending is not None and ending[1].strip() and said not in _PLAIN)
        if odd and said not in _NAMED:
            raise Mistake(
                f"column {name!r} is in a unit that is not known", where=where, do="write _mm, _in or _thou"
            )
        found.append(_NAMED.get(said, unit))
    return found


def _check_columns(rows: Sequence[tuple[int, list[str]]], columns: int | None, where: str) -> None:
    if len(rows) < 3:
        raise Mistake(
            "fewer than three places were read", where=where, do="read both ends and the middle at least"
        )
    for i, parts in rows:
        count = columns or len(rows[0][1])
        if len(parts) != count or count not in (2, 3):
            looks = len(parts) > count or count > 3
            do = "part the columns by ; if commas are decimal" if looks else f"write {_DO}"
            raise Mistake(f"line {i} has {len(parts)} columns", where=where, do=do)
    whole = all(re.fullmatch(r"\d+", part) for _, parts in rows for part in parts)
    if columns is None and len(rows[0][1]) == 3 and whole and any(re.match(r"0\d", p[2]) for _, p in rows):
        raise Mistake(
            f"line {rows[0][0]} may be a decimal comma or two faces", where=where, do="part the columns by ;"
        )


def _number(text: str, unit: Unit | str, where: str, line: int) -> float:
    """A figure in mm; a unit behind it wins over its column's."""
    if text.startswith("-"):
        raise Mistake(f"line {line} has a gap or place below 0: {text}", where=where, do="give 0 or more")
    try:
        if unit in ("mm", "inch"):
            return parse_length(text, "inch" if unit == "inch" else "mm")
        return parse_length(f"{text} {unit}" if re.fullmatch(r"[\d.,]+", text) else text)
    except Mistake:
        raise Mistake(f"line {line}: {text!r} is no length", where=where, do=f"write {_DO}") from None


def _checked(table: Floats, lines: Sequence[int], where: str) -> Readings:
    """The table as readings, once its figures make sense."""
    s, gaps = table[:, 0], table[:, 1:]
    for i in range(1, s.size):
        if s[i] <= s[i - 1]:
            raise Mistake(
                f"line {lines[i]} goes backwards: {s[i]:g} mm comes after {s[i - 1]:g} mm",
                where=where,
                do="give each place once, from the neck end on",
            )
    if s[-1] - s[0] < SHORTEST_JOINT_MM:
        raise Mistake(
            f"the readings span {s[-1] - s[0]:.4g} mm, shorter than any joint",
            where=where,
            do="if they are inches, head the columns s_in, gap_in",
        )
    if gaps.max() > WIDEST_MM:
        i = int(np.argmax(gaps.max(axis=1)))
        raise Mistake(
            f"line {lines[i]} has a gap of {gaps.max():g} mm",
            where=where,
            do="check the decimal point; hundredths and thou are written 0.05 or 2 thou",
        )
    return Readings(s, gaps[:, 0], gaps[:, 1] if gaps.shape[1] == 2 else None)


def slips(readings: Readings, unit: Unit = "mm") -> tuple[str, ...]:
    """Places whose gap leaps so far out of its neighbours that the decimal point may have slipped."""
    found: list[str] = []
    for gaps in (readings.front_mm, readings.back_mm):
        for i in range(1, 0 if gaps is None else gaps.size - 1):
            assert gaps is not None
            wide, beside = float(gaps[i]), float(max(gaps[i - 1], gaps[i + 1]))
            if beside > 0 and wide >= max(SLIP_FROM_MM, SLIP_TIMES * beside):
                at = place_words(float(readings.s_mm[i]), unit)
                found.append(
                    f"{thin_words(wide, unit)} at {at} is {wide / beside:.0f} times what was read beside it:"
                    f" feel there again; or was it {thin_words(wide / 10, unit)}?"
                )
    return tuple(dict.fromkeys(found))
