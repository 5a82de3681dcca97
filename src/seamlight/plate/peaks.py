"""What a recording of taps says: its peaks. Shared by the reader of taps and the models."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Mode = Literal["twist", "along", "across", "other"]
PeakKind = Literal["wood", "hum", "room"]


@dataclass(frozen=True)
class Peak:
    """One damped partial, averaged over the good taps.

    Attributes:
        hz: frequency of the partial.
        level_db: level at the tap, relative to the loudest peak (0).
        q: quality factor, pi * hz / decay rate (1/s); None where it could not be had.
        hz_sd: standard deviation of `hz` over the taps; 0 where unknown.
        q_sd: the same of `q`.
        kind: "wood", or "hum" (mains) or "room" where it is recognised as such.
        level_at_db: level at each tap or holding place of `TapReading.places`, same order; nan where unheard.
    """

    hz: float
    level_db: float = 0.0
    q: float | None = None
    hz_sd: float = 0.0
    q_sd: float = 0.0
    kind: PeakKind = "wood"
    level_at_db: tuple[float, ...] = ()


@dataclass(frozen=True)
class Place:
    """Where the plate was tapped or held: fractions 0..1 of its length (along the grain) and width.

    `what` says which of the two the place was changed for between recordings.
    """

    along: float
    across: float
    what: Literal["tapped", "held"] = "tapped"


@dataclass(frozen=True)
class TapReading:
    """Peaks by rising frequency, what was left out and why.

    Attributes:
        peaks: averaged over the good taps.
        taps: number of good taps.
        places: one a group of taps (one a file, or as the person said); empty where all were tapped alike.
        warnings: what was left out and what the figures rest on, one line each.
    """

    peaks: tuple[Peak, ...]
    taps: int = 1
    places: tuple[Place, ...] = ()
    warnings: tuple[str, ...] = field(default=())
