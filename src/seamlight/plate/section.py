"""Cross-sections of braces: area and second moment about their own middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SectionKind = Literal["rectangular", "peaked", "pointed", "rounded"]

SECTIONS: dict[SectionKind, str] = {
    "rectangular": "square-topped",
    "peaked": "upright for half its height, then to a ridge",
    "pointed": "a triangle",
    "rounded": "a parabola",
}


@dataclass(frozen=True)
class Part:
    """A piece of a section per mm of width: area, height of its middle, second moment about its middle."""

    area_mm: float
    middle_mm: float
    second_mm3: float


def _parts(kind: SectionKind, height_mm: float) -> tuple[Part, ...]:
    h = height_mm
    # textbook sections of unit base: rectangle h^3/12, triangle h^3/36 with its middle at h/3,
    # parabolic segment 8 h^3/175 with area 2 h/3 and its middle at 2 h/5
    if kind == "rectangular":
        return (Part(h, h / 2, h**3 / 12),)
    if kind == "pointed":
        return (Part(h / 2, h / 3, h**3 / 36),)
    if kind == "rounded":
        return (Part(2 * h / 3, 2 * h / 5, 8 * h**3 / 175),)
    half = h / 2
    return Part(half, half / 2, half**3 / 12), Part(half / 2, half + half / 3, half**3 / 36)


def area_mm2(kind: SectionKind, width_mm: float, height_mm: float) -> float:
    """Area of a section."""
    return width_mm * sum(part.area_mm for part in _parts(kind, height_mm))


def second_moment_mm4(kind: SectionKind, width_mm: float, height_mm: float) -> float:
    """Second moment about the section's own middle, for bending in its height.

    >>> round(second_moment_mm4("rectangular", 8, 12))
    1152
    """
    parts = _parts(kind, height_mm)
    area = sum(part.area_mm for part in parts)
    middle = sum(part.area_mm * part.middle_mm for part in parts) / area
    # parallel axes
    return width_mm * sum(p.second_mm3 + p.area_mm * (p.middle_mm - middle) ** 2 for p in parts)
