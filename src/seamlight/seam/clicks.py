"""Places that a person marks in pictures of a joint: its two ends, the neck end first, and its middle.

As text they stand one picture after another; `-` stands for a picture without marks, and what is missing at
the end is without marks too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from seamlight.mistake import Mistake
from seamlight.seam.light_ends import NeckAt, Point, Points

_DO = "write pixels from the picture's top left, neck end first, such as 120,430 2810,455"
_DO_MIDDLE = "write pixels from the picture's top left, such as 1465,443"


def parse_ends(text: str, pictures: int = 1, *, where: str = "") -> tuple[Points | None, ...]:
    """Both ends in each picture; empty where nothing is typed.

    Args:
        text: such as `120,430 2810,455` for each picture, `-` for one without.
        pictures: how many there are; a film counts as one, its marks are of its first frame.

    Raises:
        Mistake: they are not two places a picture, or there are more than pictures.

    >>> parse_ends("120,430 2810,455; - ; 100,420 2790,440", 3)
    (((120.0, 430.0), (2810.0, 455.0)), None, ((100.0, 420.0), (2790.0, 440.0)))
    """
    found: list[Points | None] = []
    for said in _figures(text, 4, pictures, where, f"{text.strip()!r} is not two places a picture", _DO):
        if said is None:
            found.append(None)
            continue
        x0, y0, x1, y1 = said
        if (x0, y0) == (x1, y1):
            raise Mistake("the two ends are the same place", where=where, do=_DO)
        found.append(((x0, y0), (x1, y1)))
    return tuple(found)


def parse_middles(text: str, pictures: int = 1, *, where: str = "") -> tuple[Point | None, ...]:
    """The mark halfway along the joint in each picture; see `parse_ends`.

    >>> parse_middles("1465,443 - 1450,430", 3)
    ((1465.0, 443.0), None, (1450.0, 430.0))
    """
    what = f"{text.strip()!r} is not one place a picture"
    found = _figures(text, 2, pictures, where, what, _DO_MIDDLE)
    return tuple(None if said is None else (said[0], said[1]) for said in found)


def _figures(
    text: str, count: int, pictures: int, where: str, what: str, do: str
) -> Iterator[list[float] | None]:
    """So many figures for each picture, or none."""
    parts = [part for part in re.split(r"[\s,;]+", text.strip()) if part]
    seen = 0
    while parts:
        seen += 1
        if seen > pictures:
            raise Mistake(
                f"marks for more pictures than the {pictures} given", where=where, do="mark each picture once"
            )
        if parts[0] == "-":
            parts = parts[1:]
            yield None
            continue
        some, parts = parts[:count], parts[count:]
        if len(some) != count or not all(re.fullmatch(r"\d{1,5}(\.\d+)?", part) for part in some):
            raise Mistake(what, where=where, do=do)
        yield [float(part) for part in some]


def neck_of(ends: Points) -> NeckAt:
    """Which way the neck end lies in a picture whose first marked end is the neck's."""
    (x0, y0), (x1, y1) = ends
    if abs(x1 - x0) >= abs(y1 - y0):
        return "left" if x0 < x1 else "right"
    return "top" if y0 < y1 else "bottom"
