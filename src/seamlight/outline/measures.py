"""What a parametric outline is made from, and the generic sizes to start from."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from seamlight.mistake import Mistake


@dataclass(frozen=True)
class Cutaway:
    """A rounded cutaway in one half; mm."""

    side: Literal["left", "right"]  # seen from the front with the neck up
    depth_mm: float  # from the neck end to the bottom of the hollow, along the body
    width_mm: float  # from the end of the neck flat to the horn's tip, across
    horn_radius_mm: float = 27.0  # the least on the horn, of 20 to 35; common practice, no source


@dataclass(frozen=True)
class Measures:
    """A body by its widths: full widths and where they lie, y from the neck end; mm."""

    name: str
    length_mm: float
    upper_bout_mm: float
    upper_at_mm: float
    waist_mm: float
    waist_at_mm: float
    lower_bout_mm: float
    lower_at_mm: float
    neck_flat_mm: float = 58.0  # full width; common practice, no source
    waist_radius_mm: float | None = None  # None, here and below: as the fairest curve has it
    shoulder_fullness: float | None = None  # exponent of the superellipse through the shoulder's middle
    lower_fullness: float | None = None  # the same from the lower bout to the tail
    tail_radius_mm: float | None = None  # on the centre line; the larger, the flatter the tail
    cutaway: Cutaway | None = None
    body_joint: Literal[12, 14] = 14  # the fret at the neck end
    scale_mm: float = 645.16  # nut to twelfth fret twice, before compensation
    strings: Literal["steel", "nylon"] = "steel"

    def __post_init__(self) -> None:
        places = (0.0, self.upper_at_mm, self.waist_at_mm, self.lower_at_mm, self.length_mm)
        if not all(a < b for a, b in pairwise(places)):
            raise Mistake(
                "upper bout, waist and lower bout do not follow each other down the body",
                where=self.name,
                do="measure all three from the neck end",
            )
        if not 0 < self.neck_flat_mm < self.upper_bout_mm or not 0 < self.waist_mm < min(
            self.upper_bout_mm, self.lower_bout_mm
        ):
            raise Mistake(
                "the waist must be narrower than both bouts, the neck flat narrower than the upper bout",
                where=self.name,
                do="check the widths",
            )
        if self.cutaway is not None and self.cutaway.depth_mm > self.waist_at_mm - 40:
            raise Mistake(
                f"a cutaway {self.cutaway.depth_mm:.4g} mm deep leaves no horn above the waist",
                where=self.name,
                do=f"make it at most {self.waist_at_mm - 40:.4g} mm deep",
            )


# Common practice, no source: nominal sizes to be replaced by the maker's own template. Lengths and lower
# bouts are usual in the trade; the other widths, all places along the body and scale lengths are nominal.
_GENERIC = (
    Measures("parlour", 464, 241, 99, 194, 188, 337, 348, body_joint=12, scale_mm=632.46),
    Measures("small concert", 486, 254, 105, 208, 196, 343, 364, body_joint=12, scale_mm=632.46),
    Measures("concert", 498, 250, 105, 216, 205, 359, 376, body_joint=12, scale_mm=632.46),
    Measures("auditorium", 492, 286, 85, 238, 178, 381, 358),
    Measures("large auditorium", 508, 295, 82, 243, 178, 406, 365),
    Measures("dreadnought", 508, 292, 95, 273, 190, 397, 362),
    Measures("jumbo", 530, 318, 92, 265, 190, 432, 385),
    Measures("classical", 488, 282, 98, 238, 190, 370, 360, body_joint=12, scale_mm=650.0, strings="nylon"),
)
GENERIC: dict[str, Measures] = {m.name: m for m in _GENERIC}


def plain_name(text: str) -> str:
    """A size word as it is listed: lower case, single spaces for hyphens and underscores."""
    return " ".join(text.lower().replace("-", " ").replace("_", " ").split())


def generic_measures(name: str) -> Measures:
    """The measures of a generic size by its plain name.

    Raises:
        Mistake: no such size; lists those there are.
    """
    wanted = plain_name(name)
    if wanted in GENERIC:
        return GENERIC[wanted]
    near = difflib.get_close_matches(wanted, GENERIC, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    raise Mistake(
        f"no outline is called {name!r}",
        do=f"{hint}name a DXF, SVG or measures file (.json) or one of: {', '.join(GENERIC)}",
    )
