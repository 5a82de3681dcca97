"""A length that cannot be meant, and what it may have been meant for."""

from __future__ import annotations

from seamlight.units.parse import MM_PER_INCH

# What a number is multiplied by when it was typed in the wrong unit or with a slipped decimal point.
_SLIPS: tuple[tuple[float, str], ...] = (
    (10.0, "centimetres, or the point one place too far left"),
    (MM_PER_INCH, "inches"),
    (1000.0, "metres"),
    (12 * MM_PER_INCH, "feet"),
    (0.1, "the point one place too far right"),
    (1 / MM_PER_INCH, "millimetres taken for inches"),
    (MM_PER_INCH / 1000, "thou"),
    (0.01, "the point two places too far right"),
    (0.001, "the point three places too far right"),
)


def _said(length_mm: float) -> str:
    """Millimetres, or metres where it is many."""
    return f"{length_mm / 1000:.4g} m" if length_mm >= 10_000 else f"{length_mm:.4g} mm"


def likely_slip(length_mm: float, low_mm: float, high_mm: float) -> str | None:
    """What a length outside low..high may have been meant for; None where it lies inside.

    >>> likely_slip(56, 300, 800)
    '56 mm is not between 300 and 800 mm; perhaps 560 mm (centimetres, or the point one place too far left)'
    >>> likely_slip(560, 300, 800) is None
    True
    """
    if low_mm <= length_mm <= high_mm:
        return None
    said = f"{_said(length_mm)} is not between {low_mm:.4g} and {high_mm:.4g} mm"
    meant = [
        f"{_said(length_mm * factor)} ({why})"
        for factor, why in _SLIPS
        if low_mm <= length_mm * factor <= high_mm
    ]
    return f"{said}; perhaps {' or '.join(meant)}" if meant else said
