"""Lengths inside a sentence, in the unit that a person reads."""

from __future__ import annotations

import re

from seamlight.units.parse import MM_PER_INCH, Unit
from seamlight.units.show import nearest_64th

_LENGTH = re.compile(r"(?<![\w.,-])(-?\d+(?:\.\d+)?) mm\b(?! bar)")  # a printed bar of 150 mm stays one
_SMALL_IN = 1 / 32  # below it a 64th is too coarse for what was said to a tenth of a mm


def said_in(text: str, unit: Unit) -> str:
    """A sentence written in mm, every length with its unit, as a shop of `unit` reads it.

    >>> said_in("two wings 19 mm wide; 0.5 mm to spare", "inch")
    'two wings 3/4 in wide; 0.020 in to spare'
    >>> said_in("short by 12.5 mm", "mm")
    'short by 12.5 mm'
    """
    return text if unit == "mm" else _LENGTH.sub(lambda found: _inches(float(found[1])), text)


def _inches(length_mm: float) -> str:
    inches = length_mm / MM_PER_INCH
    small = 0 < abs(inches) < _SMALL_IN
    return f"{inches:.3f} in" if small else f"{nearest_64th(inches)} in"
