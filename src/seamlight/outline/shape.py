"""A body's plan shape and the zones that belong to it, in the body frame."""

from __future__ import annotations

from dataclasses import dataclass, field

from seamlight.photo.flat import Points


@dataclass(frozen=True)
class Zones:
    """Where a flaw is hidden or cut away. Lengths in mm, y from the neck end of the outline.

    `soundhole_mm` is 0 for a back; `edge_band_mm` is the width that binding and purfling take.
    """

    soundhole_y_mm: float
    soundhole_mm: float  # diameter
    bridge_y_mm: float  # middle of the bridge along the body
    bridge_length_mm: float  # along the grain, bridge plate included
    bridge_width_mm: float  # across, bridge plate included
    fingerboard_half_width_mm: float
    fingerboard_end_mm: float  # y where the board ends
    edge_band_mm: float


@dataclass(frozen=True, eq=False)
class Outline:
    """A plan shape: the right half's edge from the neck end (0, 0) to the tail end (0, length).

    Points run (0, 0) -> along the neck flat -> down the side -> (0, length_mm), x >= 0, at most 1 mm apart on
    curves. `left_half_mm` is the left half's edge, mirrored to x >= 0, where the two differ (a cutaway).
    """

    name: str
    half_mm: Points
    zones: Zones
    left_half_mm: Points | None = None
    warnings: tuple[str, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())  # how it was read from a drawing

    @property
    def length_mm(self) -> float:
        """Length along the centre line, neck end to tail end."""
        return float(self.half_mm[-1, 1])
