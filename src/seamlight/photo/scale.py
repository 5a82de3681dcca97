"""How a person says the scale: `tags`, `tags=145.5`, `4px/mm`, `600dpi`, `size=560x215` or `560x215x185`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from seamlight.mistake import Mistake
from seamlight.photo.target import BAR_MM
from seamlight.units import Unit, likely_slip, parse_length, parse_size

MM_PER_INCH = 25.4

# What a leaf of a guitar's top, back or side can measure; common practice, no source.
LENGTH_MM = (200.0, 1500.0)
WIDTH_MM = (50.0, 500.0)

_DO = "write tags, tags=145.5, 4px/mm, 600dpi, size=560x215 or size=560x215x185"
_WHERE = "--scale"
_DECIMAL = r"\d+(?:[.,]\d*)?|[.,]\d+"


@dataclass(frozen=True)
class ScaleSpec:
    """What a person says about the scale. Only the fields of its `how` count."""

    how: Literal["tags", "px", "dpi", "size"] = "tags"
    bar_mm: float = BAR_MM  # what the sheet's 150 mm bar measures in print
    bar_said: bool = False  # whether a person measured it
    px_per_mm: float = 0.0
    length_mm: float = 0.0
    width_end1_mm: float = 0.0
    width_end2_mm: float = 0.0


def parse_scale(text: str, unit: Unit = "mm") -> ScaleSpec:
    """The scale as typed.

    Raises:
        Mistake: it is no scale, or says what cannot be meant.

    >>> parse_scale("tags=145.5").bar_mm
    145.5
    >>> round(parse_scale("600dpi").px_per_mm, 3)
    23.622
    """
    said = text.strip()
    name, given, value = (part.strip() for part in said.partition("="))
    if name.lower() == "tags" and not given:
        return ScaleSpec()
    if name.lower() == "tags":
        return _tags(value, unit)
    if name.lower() == "size" and value:
        return _size(value, unit)
    rate = re.fullmatch(rf"({_DECIMAL})\s*(px\s*/\s*mm|dpi|ppi)", said, re.IGNORECASE | re.ASCII)
    if rate is None:
        raise Mistake(f"{text!r} is not a scale", where=_WHERE, do=_DO)
    number = float(rate[1].replace(",", "."))
    if rate[2].lower().startswith("px"):
        return ScaleSpec("px", px_per_mm=_within(number, 0.2, 100.0, "px/mm", text))
    return ScaleSpec("dpi", px_per_mm=_within(number, 50.0, 2500.0, "dpi", text) / MM_PER_INCH)


def _within(number: float, least: float, most: float, name: str, text: str) -> float:
    if not least <= number <= most:
        raise Mistake(
            f"{text!r} cannot be the scale of a leaf's picture",
            where=_WHERE,
            do=f"give between {least:g} and {most:g} {name}",
        )
    return number


def _tags(value: str, unit: Unit) -> ScaleSpec:
    bar_mm = parse_length(value, unit, where=_WHERE)
    if not 0.8 * BAR_MM <= bar_mm <= 1.25 * BAR_MM:
        raise Mistake(
            f"a bar of {bar_mm:.4g} mm is too far from the {BAR_MM:g} mm it should be",
            where=_WHERE,
            do="measure the printed bar again, or print the sheet at 100 %",
        )
    return ScaleSpec("tags", bar_mm=bar_mm, bar_said=True)


def _size(value: str, unit: Unit) -> ScaleSpec:
    sizes = parse_size(value, unit, where=_WHERE)
    if len(sizes) not in (2, 3):
        raise Mistake(
            f"{value!r} is not length x width", where=_WHERE, do="write size=560x215 or size=560x215x185"
        )
    length_mm, *widths = sizes
    shown = " x ".join(f"{size:.4g}" for size in sizes)
    low = [LENGTH_MM] + [WIDTH_MM] * len(widths)
    fits = all(least <= size <= most for size, (least, most) in zip(sizes, low, strict=True))
    if not fits:
        meant = [[size * factor for size in sizes] for factor in (10.0, MM_PER_INCH, 0.1, 1000.0)]
        likely = [
            "size=" + "x".join(f"{size:.4g}" for size in one)
            for one in meant
            if all(least <= size <= most for size, (least, most) in zip(one, low, strict=True))
        ]
        if likely:
            raise Mistake(f"{shown} mm is no leaf", where=_WHERE, do=f"did you mean {' or '.join(likely)}?")
        slips = (likely_slip(size, *bounds) for size, bounds in zip(sizes, low, strict=True))
        raise Mistake(
            f"{shown} mm is no leaf", where=_WHERE, do=next(slip for slip in slips if slip is not None)
        )
    if length_mm < max(widths):
        raise Mistake(
            f"{shown} mm is wider than long",
            where=_WHERE,
            do="give the length along the grain first, then the width",
        )
    return ScaleSpec("size", length_mm=length_mm, width_end1_mm=widths[0], width_end2_mm=widths[-1])
