"""Places along the joint in words."""

from __future__ import annotations

from seamlight.units import MM_PER_INCH, Unit, show_length
from seamlight.units.show import nearest_64th


def place_words(mm: float, unit: Unit) -> str:
    """A place as it is found with a rule: whole millimetres, or eighths of an inch.

    >>> place_words(51.3, "mm"), place_words(51.3, "inch")
    ('51 mm', '2 in')
    """
    if unit == "inch":
        return f"{nearest_64th(round(mm / MM_PER_INCH * 8) / 8)} in"
    return show_length(mm, unit, 0)
