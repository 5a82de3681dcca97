"""Runout as a maker reads it off a split offcut: typed as degrees or as a slope, kept beside the pair."""

from __future__ import annotations

import math
import re

from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.grading import RUNOUT_VERB
from seamlight.shop.readings import delete_reading, keep_reading, newest
from seamlight.shop.tables import Reading

MOST_DEG = 30.0  # more is no board that anyone would open
_SLOPE = re.compile(r"1\s*(?::|in)\s*(\d+(?:[.,]\d+)?)")
_DEGREES = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:°|deg|degrees)?")


def parse_runout(typed: str) -> float:
    """Degrees from what was typed: `1.5`, `1.5°`, `1:28`, `1 in 28`.

    >>> round(parse_runout("1:28"), 2)
    2.05

    Raises:
        Mistake: it is neither, or steeper than any board.
    """
    said = " ".join(typed.split())
    if found := _SLOPE.fullmatch(said):
        run = float(found[1].replace(",", "."))
        # slope of 1 in n: its tangent is 1/n
        degrees = math.degrees(math.atan2(1.0, run))
    elif found := _DEGREES.fullmatch(said):
        degrees = float(found[1].replace(",", "."))
    else:
        raise Mistake(f"{typed!r} is no runout", where="runout", do="write degrees, like 1.5, or 1:28")
    if degrees > MOST_DEG:
        raise Mistake(f"{degrees:g}° is too steep", where="runout", do=f"write at most {MOST_DEG:g}°")
    return degrees


def keep_runout(change: Change, pair_id: int, typed: str) -> Reading:
    """Keep what was typed; the pair's grade counts it from now on.

    Raises:
        Mistake: it is no runout.
    """
    document = {"runout_deg": parse_runout(typed), "typed": " ".join(typed.split())}
    return keep_reading(change, RUNOUT_VERB, document, pair_id=pair_id)


def kept_runout(session: Session, pair_id: int) -> Reading | None:
    """The newest; None where none was typed."""
    return newest(session, RUNOUT_VERB, pair_id=pair_id)


def take_back_runout(change: Change, pair_id: int) -> Reading | None:
    """Take the newest back; the one before counts again."""
    row = kept_runout(change.session, pair_id)
    return delete_reading(change, row.id) if row is not None else None
