"""Places along the joint, gaps and depths in words."""

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


def thin_words(mm: float, unit: Unit) -> str:
    """A gap or a depth: hundredths of a millimetre (or finer where there is less), or thou.

    >>> thin_words(0.1, "mm"), thin_words(0.1, "inch")
    ('0.10 mm', '4 thou')
    """
    if unit == "inch":
        return f"{mm / 0.0254:.{0 if mm >= 0.0254 else 1}f} thou"
    return f"{mm:.{2 if mm >= 0.01 else 3}f} mm"
