"""What is known of a grown face or end: the picture and the truth that goes with it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.demo.leaf import SawnLeaf, Side
from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.photo.flat import FlatLeaf, Mask, Points, Rgb, Scale

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PlainScale:
    """The plane map of a flat picture at a known scale."""

    px_per_mm: float

    def to_photo(self, points_mm: Points) -> Points:
        return np.asarray(points_mm, dtype=np.float64) * self.px_per_mm

    def to_leaf(self, points_px: Points) -> Points:
        return np.asarray(points_px, dtype=np.float64) / self.px_per_mm


@dataclass(frozen=True, eq=False)
class FaceTruth:
    """A face's picture in the leaf frame and everything that is true of it."""

    leaf: SawnLeaf
    side: Side
    rgb: Rgb  # (h, w, 3)
    wood: Mask  # (h, w)
    bare: Rgb  # (h, w, 3) the clean wood going on beyond its silhouette, for a camera to look at
    px_per_mm: float
    outline_mm: Points
    holes_mm: tuple[Points, ...]
    flaws: tuple[Flaw, ...]
    field: GrainField
    length_mm: float
    width_end1_mm: float
    width_end2_mm: float
    thickness_mm: float

    @property
    def width_mm(self) -> float:
        """Width of the bounding box that the frame's origin belongs to."""
        return self.leaf.width_mm

    @property
    def mean_angle_deg(self) -> float:
        """Mean direction of the ring lines over sound wood."""
        return float(np.nanmean(self.field.angle_deg))

    def direction_deg(self, x_mm: Array, y_mm: Array) -> Array:
        """Exact direction of the ring lines at any points of the picture's leaf frame."""
        return self.leaf.direction_deg(self.side, x_mm, y_mm)

    def spacing_mm(self, x_mm: Array, y_mm: Array, over_mm: float = 6.0) -> Array:
        """Exact ring spacing square to the lines, the mean over `over_mm`."""
        return self.leaf.spacing_mm(self.side, x_mm, y_mm, over_mm)

    def ring_line(self, x_mm: float, at_y_mm: float, y_mm: Array) -> Array:
        """x of the ring line through (x_mm, at_y_mm) at each y."""
        return self.leaf.ring_line(self.side, x_mm, at_y_mm, y_mm)

    def wander_mm(self, lines: int = 9) -> float:
        """Greatest departure of a ring line from its straight fit, over lines clear of knots and edges."""
        y = np.arange(6.0, self.length_mm - 6.0, 2.0)
        worst = 0.0
        for x in np.linspace(0.08, 0.92, lines) * self.width_mm:
            line = self.ring_line(float(x), self.length_mm / 2, y)
            on = (line > 4.0) & (line < self.width_mm - 4.0) & ~self._near_flaw(line, y)
            if on.sum() > 0.6 * len(y):
                fit = np.polyval(np.polyfit(y[on], line[on], 1), y[on])
                worst = max(worst, float(np.abs(line[on] - fit).max()))
        return worst

    def _near_flaw(self, x: Array, y: Array) -> NDArray[np.bool_]:
        near = np.zeros(len(x), dtype=bool)
        for flaw in self.flaws:
            low, high = flaw.outline_mm.min(axis=0) - 12.0, flaw.outline_mm.max(axis=0) + 12.0
            near |= (x > low[0]) & (x < high[0]) & (y > low[1]) & (y < high[1])
        return near

    def as_flat(self) -> FlatLeaf:
        """The flat picture with exact scale, as the photo room would hand it on from a perfect photograph."""
        return FlatLeaf(
            rgb=self.rgb,
            wood=self.wood,
            px_per_mm=self.px_per_mm,
            outline_mm=self.outline_mm,
            holes_mm=self.holes_mm,
            length_mm=self.length_mm,
            width_end1_mm=self.width_end1_mm,
            width_end2_mm=self.width_end2_mm,
            scale=Scale("px", self.px_per_mm, 0.0),
            to_picture=PlainScale(self.px_per_mm),
        )


@dataclass(frozen=True, eq=False)
class EndTruth:
    """An end's picture with the sawn face uppermost, and the ring-to-face angle along the leaf's width.

    End 1 looked at from outside with the sawn face up shows the leaf's right edge at the picture's left.
    """

    leaf: SawnLeaf
    end: int
    rgb: Rgb
    wood: Mask
    bare: Rgb  # the clean end going on beyond its edges
    px_per_mm: float
    x_mm: Array  # (n,) in the leaf frame of the sawn face, rising
    ring_to_face_deg: Array  # (n,) at mid thickness, 0..90, 90 quartered
    mirrored: bool  # picture left is the leaf's right
    outline_mm: Points  # of the end in its own picture
