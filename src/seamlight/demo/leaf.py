"""A sawn leaf: how its own frame lies in the billet, and the ring function on its faces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.demo.wood import Log
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Side = Literal["sawn", "other"]


@dataclass(frozen=True)
class Stand:
    """How a leaf's picture of its sawn face lies in the billet: middle, turn, and whether mirrored."""

    middle_u_mm: float
    middle_z_mm: float
    rotate_deg: float
    mirrored: bool  # seen from the far side of the cut, as leaf B is
    width_mm: float  # of the leaf's bounding box
    length_mm: float


@dataclass(frozen=True, eq=False)
class Marks:
    """What the saw and the light leave on a face."""

    saw: float = 0.4  # strength of the saw's fine lines across, 0..1
    streaks: float = 0.35  # strength of bright streaks and shiny patches across, 0..1
    ripple: float = 0.0  # strength of fine torn lines across the grain all over a rough face, 0..1
    runout_gain: float = 0.022  # share of brightness per degree of fibre slope, lamp at an end (invented)
    tint: float = 1.0  # brightness of this leaf's own colour


@dataclass(frozen=True, eq=False)
class Check:
    """A crack that runs in from an end along the grain: its middle line and width in the billet frame."""

    u_mm: Array  # (n,)
    z_mm: Array  # (n,)
    half_mm: Array  # (n,)


@dataclass(frozen=True, eq=False)
class SawnLeaf:
    """One leaf of a pair. Outline and holes are in the leaf frame of its sawn face."""

    name: Literal["a", "b"]
    log: Log
    seed: int
    stand: Stand
    grain_deg: float  # turn of the log under the billet
    cut_deg: float  # lean of the cut about the log's length
    sawn_v_mm: float
    other_v_mm: float
    outline_mm: Points
    holes_mm: tuple[Points, ...]
    checks: tuple[Check, ...]
    width_end1_mm: float
    width_end2_mm: float
    thickness_mm: float
    marks: Marks

    @property
    def length_mm(self) -> float:
        return self.stand.length_mm

    @property
    def width_mm(self) -> float:
        return self.stand.width_mm

    def half_turn(self) -> SawnLeaf:
        """The same leaf with end 2 at the top of its picture."""
        box = np.array([self.width_mm, self.length_mm])
        return replace(
            self,
            stand=replace(self.stand, rotate_deg=self.stand.rotate_deg + 180.0),
            outline_mm=box - self.outline_mm,
            holes_mm=tuple(box - hole for hole in self.holes_mm),
            width_end1_mm=self.width_end2_mm,
            width_end2_mm=self.width_end1_mm,
        )

    @property
    def upside_down(self) -> bool:
        """Whether the picture's end 1 is the far end of the billet."""
        return bool(np.cos(np.radians(self.stand.rotate_deg)) < 0)

    def depth_mm(self, side: Side) -> float:
        """Where the face lies in the billet, square to the cut."""
        return self.sawn_v_mm if side == "sawn" else self.other_v_mm

    def mirrored(self, side: Side) -> bool:
        """Whether a picture of that face shows the billet mirrored."""
        return self.stand.mirrored != (side == "other")

    def to_billet(self, side: Side, x_mm: Array, y_mm: Array) -> tuple[Array, Array]:
        """Points in the picture's leaf frame -> (u, z) in the billet, before the log's own turn."""
        flip = -1.0 if side == "other" else 1.0
        across, along = flip * (x_mm - self.width_mm / 2), y_mm - self.length_mm / 2
        turn = np.radians(self.stand.rotate_deg)
        # positive where a line moves to +x as y grows (contracts, leaf frame)
        turned = across * np.cos(turn) + along * np.sin(turn)
        down = along * np.cos(turn) - across * np.sin(turn)
        mirror = -1.0 if self.stand.mirrored else 1.0
        return self.stand.middle_u_mm + mirror * turned, self.stand.middle_z_mm + down

    def from_billet(self, side: Side, u_mm: Array, z_mm: Array) -> tuple[Array, Array]:
        """(u, z) in the billet -> points in the picture's leaf frame."""
        mirror = -1.0 if self.stand.mirrored else 1.0
        turned, down = mirror * (u_mm - self.stand.middle_u_mm), z_mm - self.stand.middle_z_mm
        turn = np.radians(self.stand.rotate_deg)
        across = turned * np.cos(turn) - down * np.sin(turn)
        along = down * np.cos(turn) + turned * np.sin(turn)
        flip = -1.0 if side == "other" else 1.0
        return self.width_mm / 2 + flip * across, self.length_mm / 2 + along

    def to_log(self, u: Array, v: Array, z: Array) -> tuple[Array, Array, Array]:
        """Billet -> log: the grain's turn in the plane, then the lean of the cut about the length."""
        turn, lean = np.radians(self.grain_deg), np.radians(self.cut_deg)
        across = u * np.cos(turn) - z * np.sin(turn)
        along = u * np.sin(turn) + z * np.cos(turn)
        return across * np.cos(lean) - v * np.sin(lean), across * np.sin(lean) + v * np.cos(lean), along

    def from_log(self, across: Array, along: Array, v: Array) -> tuple[Array, Array]:
        """(across, along) of the log at a face's depth v -> (u, z) of the billet."""
        turn, lean = np.radians(self.grain_deg), np.radians(self.cut_deg)
        flat = (across + v * np.sin(lean)) / np.cos(lean)
        return flat * np.cos(turn) + along * np.sin(turn), along * np.cos(turn) - flat * np.sin(turn)

    def log_points(self, side: Side, x_mm: Array, y_mm: Array) -> tuple[Array, Array, Array]:
        """Points of a face's picture in the log's own coordinates."""
        u, z = self.to_billet(side, np.asarray(x_mm, dtype=np.float64), np.asarray(y_mm, dtype=np.float64))
        return self.to_log(u, np.full_like(u, self.depth_mm(side)), z)

    def radius(self, side: Side, x_mm: Array, y_mm: Array) -> Array:
        """Ring radius (mm) at points of a face's picture, in the leaf frame."""
        return self.log.radius(*self.log_points(side, x_mm, y_mm))

    def slope(self, side: Side, x_mm: Array, y_mm: Array) -> tuple[Array, Array]:
        """Gradient of the ring radius along x and y, by central differences 0.02 mm apart."""
        step = 0.01
        in_x = (self.radius(side, x_mm + step, y_mm) - self.radius(side, x_mm - step, y_mm)) / (2 * step)
        in_y = (self.radius(side, x_mm, y_mm + step) - self.radius(side, x_mm, y_mm - step)) / (2 * step)
        return in_x, in_y

    def direction_deg(self, side: Side, x_mm: Array, y_mm: Array) -> Array:
        """Direction of the ring lines at points of a face, degrees, positive to +x as y grows."""
        in_x, in_y = self.slope(side, x_mm, y_mm)
        # along a level line dx/dy = -r_y / r_x
        return np.degrees(np.arctan(-in_y / np.where(np.abs(in_x) < 1e-9, 1e-9, in_x)))

    def spacing_mm(self, side: Side, x_mm: Array, y_mm: Array, over_mm: float = 6.0) -> Array:
        """Ring spacing square to the lines on the face, the mean over `over_mm`."""
        steep = np.maximum(np.hypot(*self.slope(side, x_mm, y_mm)), 1e-6)
        radius, half = self.radius(side, x_mm, y_mm), steep * over_mm / 2
        years = self.log.years
        return over_mm / np.maximum(years.ring_number(radius + half) - years.ring_number(radius - half), 1e-6)

    def ring_line(self, side: Side, x_mm: float, at_y_mm: float, y_mm: Array) -> Array:
        """x of the ring line through (x_mm, at_y_mm) at each y: Newton's rule on the level line."""
        level = self.radius(side, np.array(x_mm), np.array(at_y_mm))
        x = x_mm + np.zeros_like(y_mm)
        for _ in range(12):
            in_x, _in_y = self.slope(side, x, y_mm)
            miss = self.radius(side, x, y_mm) - level
            x = x - np.clip(miss / np.where(np.abs(in_x) < 0.05, np.copysign(0.05, in_x), in_x), -4.0, 4.0)
        return np.asarray(x)
