"""Branches: cones that cross the plane of the cut, and how the rings flow around them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.demo.noise import stream

Array = NDArray[np.float64]
KnotKind = Literal["live", "dead", "cracked", "fallen"]
FLOW, BULGE = 0.9, 0.35  # how strongly rings part around a branch, and swell along it


@dataclass(frozen=True)
class KnotAt:
    """Where a knot is wanted: u, z from the middle of the nominal leaf, size square to the branch; mm."""

    u_mm: float
    z_mm: float
    diameter_mm: float = 8.0
    kind: KnotKind = "live"
    across_deg: float = 60.0  # between the branch and the face: 90 round, small a spike


@dataclass(frozen=True, eq=False)
class Knot:
    """A branch: an axis through `at` (billet frame, mm) along the unit vector `along`, widening outward."""

    kind: KnotKind
    at: Array  # (3,)
    along: Array  # (3,)
    outward: Array  # (3,) from pith to bark
    radius_mm: float  # at `at`
    widening: float  # share of the radius gained per mm along the axis
    lobes: Array  # (3, 2) amplitude and phase of its outline's unevenness
    seed: int

    def polar(self, u: Array, v: Array, z: Array) -> tuple[Array, Array, Array]:
        """Distance from the axis over the branch's radius there; angle around it; place along it (mm)."""
        off = (u - self.at[0], v - self.at[1], z - self.at[2])
        t = off[0] * self.along[0] + off[1] * self.along[1] + off[2] * self.along[2]
        side = np.cross(self.along, np.array([0.0, 0.0, 1.0]))
        side = side / np.linalg.norm(side)
        up = np.cross(side, self.along)
        first = off[0] * side[0] + off[1] * side[1] + off[2] * side[2]
        second = off[0] * up[0] + off[1] * up[1] + off[2] * up[2]
        turn = np.arctan2(second, first)
        size = self.radius_mm * np.clip(1.0 + self.widening * t, 0.15, 3.0)
        for count, (amplitude, phase) in enumerate(self.lobes, start=2):
            size = size * (1.0 + amplitude * np.sin(count * turn + phase))
        return np.hypot(first, second) / size, turn, t

    def push(self, u: Array, v: Array, z: Array) -> Array:
        """What the branch adds to the ring radius (mm): rings part around it and swell outward along it.

        The parting is the stream function of a flow around a cylinder, damped away from it.
        """
        off = (u - self.at[0], v - self.at[1], z - self.at[2])
        t = off[0] * self.along[0] + off[1] * self.along[1] + off[2] * self.along[2]
        out = (off[0] - t * self.along[0]) * self.outward[0] + (off[1] - t * self.along[1]) * self.outward[1]
        square = (
            (off[0] - t * self.along[0]) ** 2
            + (off[1] - t * self.along[1]) ** 2
            + ((off[2] - t * self.along[2]) / 1.6) ** 2
        )
        size = self.radius_mm * np.clip(1.0 + self.widening * t, 0.15, 3.0)
        near = np.exp(-square / (2.0 * (3.0 * size) ** 2))
        part = -FLOW * out * size**2 / (square + 0.5 * size**2) * near
        swell = -BULGE * size * np.exp(-square / (2.0 * (2.0 * size) ** 2))
        return np.asarray(part + swell)


def grow_knots(seed: int, wanted: int | Sequence[KnotAt], outward: tuple[float, float]) -> tuple[Knot, ...]:
    """Grow the wanted knots, or that many anywhere on the nominal leaf and well apart."""
    dice = stream(seed, "knots")
    places = _anywhere(dice, wanted) if isinstance(wanted, int) else list(wanted)
    return tuple(_branch(dice, place, outward) for place in places)


def _anywhere(dice: np.random.Generator, count: int) -> list[KnotAt]:
    kinds: tuple[KnotKind, ...] = ("live", "dead", "cracked")
    places: list[KnotAt] = []
    for _ in range(200):
        if len(places) == count:
            break
        u, z = float(dice.uniform(-92, 92)), float(dice.uniform(-250, 250))
        size, across = float(dice.uniform(4.5, 14.0)), float(dice.uniform(40, 80))
        kind = kinds[int(dice.integers(3))]
        if all(np.hypot(u - one.u_mm, z - one.z_mm) > 45.0 for one in places):
            places.append(KnotAt(u, z, size, kind, across))
    return places


def _branch(dice: np.random.Generator, place: KnotAt, outward: tuple[float, float]) -> Knot:
    across = np.radians(np.clip(place.across_deg, 8.0, 90.0))
    way = float(np.sign(outward[0]) or 1.0)
    rise = -float(dice.uniform(0.05, 0.3)) * np.cos(across)
    flat = np.array([way * np.cos(across), 0.0, rise])
    along = flat + np.array([0.0, float(dice.choice([-1.0, 1.0])) * np.sin(across), 0.0])
    along /= np.linalg.norm(along)
    return Knot(
        kind=place.kind,
        at=np.array([place.u_mm, 0.0, place.z_mm]),
        along=along,
        outward=np.array([outward[0], outward[1], 0.0]),
        radius_mm=place.diameter_mm / 2.0,
        widening=1.0 / 180.0,
        lobes=np.column_stack([dice.uniform(0.0, 0.06, 3), dice.uniform(0, 2 * np.pi, 3)]),
        seed=int(dice.integers(1 << 30)),
    )
