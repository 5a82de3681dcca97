"""Pitch pockets between rings, and stain that crept along the grain."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.demo.noise import stream

Array = NDArray[np.float64]
Radius = Callable[[Array, Array, Array], Array]


@dataclass(frozen=True)
class PocketAt:
    """Where a pitch pocket is wanted: u, z from the middle of the nominal leaf; mm."""

    u_mm: float
    z_mm: float
    length_mm: float = 18.0
    width_mm: float = 2.4


@dataclass(frozen=True)
class StainAt:
    """Where a stain is wanted: u, z from the middle of the nominal leaf; mm."""

    u_mm: float
    z_mm: float
    length_mm: float = 60.0
    width_mm: float = 14.0


@dataclass(frozen=True, eq=False)
class Pocket:
    """A lens of resin lying in one ring: at ring radius `ring_mm`, long along z, thin across."""

    u_mm: float
    z_mm: float
    ring_mm: float
    half_length_mm: float
    half_width_mm: float
    half_depth_mm: float

    def inside(self, radius_mm: Array, v: Array, z: Array) -> Array:
        """Below 1 inside the lens: two arcs that meet in points at its ends."""
        along = ((z - self.z_mm) / self.half_length_mm) ** 2 + (v / self.half_depth_mm) ** 2
        across = np.abs(radius_mm - self.ring_mm) / self.half_width_mm
        return np.asarray(across + along)


@dataclass(frozen=True, eq=False)
class Stain:
    """A soft patch, long along the grain, with an uneven edge."""

    u_mm: float
    z_mm: float
    half_length_mm: float
    half_width_mm: float
    lobes: Array  # (4, 2)

    def inside(self, u: Array, v: Array, z: Array) -> Array:
        """Below 1 inside; the edge is soft about 1."""
        across, along = (u - self.u_mm) / self.half_width_mm, (z - self.z_mm) / self.half_length_mm
        turn = np.arctan2(along, across)
        size = np.ones_like(np.asarray(turn, dtype=np.float64))
        for count, (amplitude, phase) in enumerate(self.lobes, start=2):
            size = size + amplitude * np.sin(count * turn + phase)
        return np.asarray(np.hypot(across, along) / size)


def grow_pockets(seed: int, wanted: int | Sequence[PocketAt], radius: Radius) -> tuple[Pocket, ...]:
    """The wanted pitch pockets, or that many anywhere on the nominal leaf."""
    dice = stream(seed, "pitch")
    if isinstance(wanted, int):
        wanted = [
            PocketAt(
                *(
                    float(dice.uniform(low, high))
                    for low, high in ((-90, 90), (-240, 240), (9, 30), (1.6, 3.4))
                )
            )
            for _ in range(wanted)
        ]
    return tuple(
        Pocket(
            one.u_mm,
            one.z_mm,
            float(radius(np.array(one.u_mm), np.array(0.0), np.array(one.z_mm))),
            one.length_mm / 2,
            one.width_mm / 2,
            12.0,
        )
        for one in wanted
    )


def grow_stains(seed: int, wanted: int | Sequence[StainAt]) -> tuple[Stain, ...]:
    """The wanted stains, or that many anywhere on the nominal leaf."""
    dice = stream(seed, "stain")
    if isinstance(wanted, int):
        wanted = [
            StainAt(
                *(float(dice.uniform(low, high)) for low, high in ((-80, 80), (-220, 220), (30, 90), (8, 22)))
            )
            for _ in range(wanted)
        ]
    return tuple(
        Stain(
            one.u_mm,
            one.z_mm,
            one.length_mm / 2,
            one.width_mm / 2,
            np.column_stack([dice.uniform(0.02, 0.09, 4), dice.uniform(0, 2 * np.pi, 4)]),
        )
        for one in wanted
    )
