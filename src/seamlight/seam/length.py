"""A joint's length as it is typed: a length, or `tags` of a target sheet beside it."""

from __future__ import annotations

from seamlight.mistake import Mistake
from seamlight.photo import ScaleSpec, parse_scale
from seamlight.units import Unit, parse_length


def parse_joint_length(
    text: str, unit: Unit = "mm", *, where: str = "length"
) -> tuple[float | None, ScaleSpec | None]:
    """The length in mm, or what tags say; both None where nothing is typed.

    Raises:
        Mistake: it is neither.

    >>> parse_joint_length("550")
    (550.0, None)
    >>> parse_joint_length("tags=145.5")[1].bar_mm
    145.5
    """
    said = text.strip()
    if not said:
        return None, None
    try:
        if said.lower().startswith("tag"):
            return None, parse_scale(said, unit)
        return parse_length(said, unit), None
    except Mistake as mistake:
        tags = said.lower().startswith("tag")
        do = "write tags, or tags=145.5 where the sheet's 150 mm bar measures so much" if tags else mistake.do
        raise Mistake(mistake.what, where=where, do=do) from mistake
