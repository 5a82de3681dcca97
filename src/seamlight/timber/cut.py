"""When wood is called quarter-sawn: usages differ, so it is a setting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from seamlight.mistake import Mistake

Cut = Literal["quarter", "rift", "flat"]


@dataclass(frozen=True)
class Usage:
    """Least ring-to-face angles, degrees, 90 being quartered; below the rift angle it is flat."""

    name: str
    quarter_from_deg: float
    rift_from_deg: float  # as the quarter angle where the usage knows no rift
    source: str


# All three read in secondary sources only.
USAGES: dict[str, Usage] = {
    usage.name: usage
    for usage in (
        Usage("woodwork", 60.0, 30.0, "Architectural Woodwork Institute's usage, as quoted"),
        Usage("forest service", 45.0, 45.0, "US Forest Service's usage, as quoted"),
        Usage("strict", 75.0, 45.0, "a timber dealer's usage"),
    )
}
DEFAULT_USAGE = "woodwork"


def cut_of(ring_to_face_deg: float, usage: str = DEFAULT_USAGE) -> Cut:
    """The word for a ring-to-face angle, 0..90 degrees, in one of the usages.

    Raises:
        Mistake: no such usage, or no such angle.

    >>> cut_of(50), cut_of(50, "forest service")
    ('rift', 'quarter')
    """
    if usage not in USAGES:
        raise Mistake(
            f"no usage of quarter-sawn is called {usage!r}", do=f"choose one of: {', '.join(USAGES)}"
        )
    if not 0 <= ring_to_face_deg <= 90:
        raise Mistake(
            f"{ring_to_face_deg:g} is no ring-to-face angle", do="give 0 to 90 degrees, 90 for quartered"
        )
    chosen = USAGES[usage]
    if ring_to_face_deg >= chosen.quarter_from_deg:
        return "quarter"
    return "rift" if ring_to_face_deg >= chosen.rift_from_deg else "flat"
