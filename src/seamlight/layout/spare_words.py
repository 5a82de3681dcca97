"""The room to spare in words: the least first, with where it is; the same wherever it is told."""

from __future__ import annotations

from collections.abc import Callable


def spare_words(beside_mm: float, ends_mm: float | None, say: Callable[[float], str]) -> str:
    """Such as `1.0 mm to spare at the ends, 30.4 beside`.

    Args:
        beside_mm: room beside the outline.
        ends_mm: room at its ends; None where nobody knows.
        say: a length with its unit.

    >>> spare_words(30.4, 1.0, lambda mm: f"{mm:.1f} mm")
    '1.0 mm to spare at the ends, 30.4 beside'
    """
    if ends_mm is None:
        return f"{say(beside_mm)} to spare beside"
    rooms = [(beside_mm, "beside"), (ends_mm, "at the ends")]
    (least, where), (more, elsewhere) = sorted(rooms, key=lambda room: room[0])
    return f"{say(least)} to spare {where}, {say(more).removesuffix(' mm')} {elsewhere}"


def least_room(beside_mm: float, ends_mm: float | None) -> tuple[float, str]:
    """The least room and where it is: a shortage is the least below nothing."""
    if ends_mm is None or beside_mm <= ends_mm:
        return beside_mm, "beside"
    return ends_mm, "at the ends"
