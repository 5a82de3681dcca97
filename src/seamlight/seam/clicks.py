"""The joint's two ends as a person marks them in the picture: the neck end first."""

from __future__ import annotations

import re

from seamlight.mistake import Mistake
from seamlight.seam.light_ends import Points
from seamlight.seam.light_view import NeckAt

_DO = "write pixels from the picture's top left, neck end first, such as 120,430 2810,455"


def parse_ends(text: str, *, where: str = "") -> Points:
    """Two places in a picture, as `120,430 2810,455`.

    Raises:
        Mistake: they are not two places.

    >>> parse_ends("120,430 2810,455")
    ((120.0, 430.0), (2810.0, 455.0))
    """
    parts = [part for part in re.split(r"[\s,;]+", text.strip()) if part]
    if len(parts) != 4 or not all(re.fullmatch(r"\d{1,5}(\.\d+)?", part) for part in parts):
        raise Mistake(f"{text!r} is not two places in the picture", where=where, do=_DO)
    x0, y0, x1, y1 = (float(part) for part in parts)
    if (x0, y0) == (x1, y1):
        raise Mistake("the two ends are the same place", where=where, do=_DO)
    return (x0, y0), (x1, y1)


def neck_of(ends: Points) -> NeckAt:
    """Which way the neck end lies in a picture whose first marked end is the neck's."""
    (x0, y0), (x1, y1) = ends
    if abs(x1 - x0) >= abs(y1 - y0):
        return "left" if x0 < x1 else "right"
    return "top" if y0 < y1 else "bottom"


def check_one_picture(ends: Points | None, pictures: int, *, where: str = "") -> None:
    """Marks belong to the picture that they were made in.

    Raises:
        Mistake: there are several pictures.
    """
    if ends is not None and pictures > 1:
        raise Mistake(
            "both ends are marked in one picture, and several were given",
            where=where,
            do="give that one alone",
        )
