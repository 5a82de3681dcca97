"""From millimetres and degrees to what a maker reads."""

from __future__ import annotations

from math import gcd

from seamlight.units.parse import MM_PER_INCH, Unit


def nearest_64th(inches: float) -> str:
    """The nearest 1/64 in lowest terms: `7 13/16`, `3/4`, `15`, `0`."""
    count = round(abs(inches) * 64)
    whole, over = divmod(count, 64)
    sign = "-" if inches < 0 and count else ""
    if not over:
        return f"{sign}{whole}"
    shared = gcd(over, 64)
    fraction = f"{over // shared}/{64 // shared}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def show_length(length_mm: float, unit: Unit = "mm", decimals: int = 1) -> str:
    """A length in the shop's unit: mm to `decimals`, or inches to 1/64 with the decimal beside it.

    >>> show_length(198.5)
    '198.5 mm'
    >>> show_length(198.5, "inch")
    '7 13/16 in (7.815)'
    """
    if unit == "inch":
        inches = length_mm / MM_PER_INCH
        return f"{nearest_64th(inches)} in ({round(inches, 3) + 0.0:.3f})"
    return f"{round(length_mm, decimals) + 0.0:.{decimals}f} mm"


def show_temperature(temp_c: float) -> str:
    """A temperature as a thermometer in a shop is read: a tenth where there is one.

    >>> show_temperature(20.0), show_temperature(20.5)
    ('20 °C', '20.5 °C')
    """
    return f"{round(temp_c, 1) + 0.0:.1f}".removesuffix(".0") + " °C"
