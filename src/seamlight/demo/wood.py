"""A log as a function of space: at every point its ring radius, and what grew or broke there.

The billet frame: origin in the middle of the plane of the cut (leaf A's sawn face), u across, v square to the
plane toward leaf B, z along the log; mm. The pith runs along z at a distance, so lines on the face are ring
surfaces cut by the plane. The ring radius is one smooth function of (u, v, z), and every face, end and
neighbour is cut from it, so they agree with each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.demo import knots as branches
from seamlight.demo.knots import Knot, KnotAt
from seamlight.demo.noise import stream
from seamlight.demo.pockets import Pocket, PocketAt, Stain, StainAt, grow_pockets, grow_stains
from seamlight.demo.rings import Years, grow_years
from seamlight.demo.species import Species, species_named

Array = NDArray[np.float64]
NOMINAL_LENGTH_MM, NOMINAL_WIDTH_MM = 560.0, 215.0


@dataclass(frozen=True, eq=False)
class Log:
    """One grown log. Everything that is random was drawn from `seed`."""

    seed: int
    wood: Species
    years: Years
    pith_u_mm: float  # where the pith stands in the billet frame
    pith_v_mm: float
    taper: float  # mm of ring radius per mm along the log
    bend_mm: float  # sag of the ring lines over the nominal half length
    waves: Array  # (k, 5): amplitude mm, waves per mm in u, v, z (radians), phase
    spiral_deg: float  # slope of the fibre to the face
    figure: float  # 0..1 strength of curl
    figure_mm: float  # its wavelength
    bark_mm: float  # ring radius of the bark
    bark_waves: Array  # (k, 3): amplitude mm, radians per mm in z, phase
    knots: tuple[Knot, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    stains: tuple[Stain, ...] = ()

    def clear_radius(self, u: Array, v: Array, z: Array) -> Array:
        """Ring radius in mm without the knots' doing."""
        across = u - self.pith_u_mm - self.bend_mm * (z / (NOMINAL_LENGTH_MM / 2)) ** 2
        radius = np.hypot(across, v - self.pith_v_mm) - self.taper * z
        for amplitude, in_u, in_v, in_z, phase in self.waves:
            radius = radius + amplitude * np.sin(in_u * u + in_v * v + in_z * z + phase)
        return np.asarray(radius)

    def radius(self, u: Array, v: Array, z: Array) -> Array:
        """Ring radius in mm: the rings are its level surfaces."""
        radius = self.clear_radius(u, v, z)
        for knot in self.knots:
            radius = radius + knot.push(u, v, z)
        return radius

    def bark(self, z: Array) -> Array:
        """Ring radius of the bark's inside at z."""
        edge = np.full_like(np.asarray(z, dtype=np.float64), self.bark_mm)
        for amplitude, in_z, phase in self.bark_waves:
            edge = edge + amplitude * np.sin(in_z * z + phase)
        return edge

    def outward(self, u: float, v: float) -> tuple[float, float]:
        """The unit direction from pith to bark at a place, in (u, v)."""
        across, square = u - self.pith_u_mm, v - self.pith_v_mm
        size = float(np.hypot(across, square)) or 1.0
        return across / size, square / size


def _waves(seed: int, wander_mm: float) -> Array:
    """A handful of long, low waves: a ring line wanders by about `wander_mm` from its straight fit."""
    dice = stream(seed, "waves")
    count = 6
    lengths_z = dice.uniform(180.0, 900.0, count)
    lengths_u = dice.uniform(90.0, 400.0, count)
    return np.column_stack(
        [
            wander_mm * dice.uniform(0.25, 0.55, count) * np.clip(lengths_z / 500.0, 0.3, 1.2),
            2 * np.pi / lengths_u * dice.choice([-1.0, 1.0], count),
            2 * np.pi / dice.uniform(120.0, 400.0, count) * dice.choice([-1.0, 1.0], count),
            2 * np.pi / lengths_z,
            dice.uniform(0, 2 * np.pi, count),
        ]
    )


def grow_log(
    seed: int,
    species: str = "western redcedar",
    *,
    ring_mm: float | None = None,
    knots: int | Sequence[KnotAt] = 0,
    lean_deg: float | None = None,
    pith_mm: float | None = None,
    pith_side: str = "left",
    ring_spread: float = 0.12,
    ring_trend: float | None = None,
    taper: float | None = None,
    wander_mm: float = 0.8,
    bend_mm: float = 0.0,
    spiral_deg: float | None = None,
    figure: float = 0.0,
    figure_mm: float = 9.0,
    pitch: int | Sequence[PocketAt] = 0,
    stains: int | Sequence[StainAt] = 0,
    wane_mm: float = 0.0,
) -> Log:
    """Grow a log. Pure: the same arguments give the same log.

    Args:
        seed: source of all randomness; each option has dice of its own.
        species: one of `demo.species.SPECIES`.
        ring_mm: ring width at the middle of the leaf; the species' own when None.
        knots: how many, anywhere on the nominal leaf, or where and what exactly.
        lean_deg: 90 less the ring-to-face angle at the middle of the leaf; 0 is quartered. Random if None.
        pith_mm: distance from the pith to the middle of the leaf; small: rings curve more on the end.
        pith_side: "left" or "right" of leaf A's sawn face.
        ring_spread: year to year variation of ring width, a share.
        ring_trend: change of ring width over the leaf's width, a share; below 0: tighter toward the bark.
        taper: mm of radius lost per mm along the log.
        wander_mm: about how far a ring line strays from straight. bend_mm: sag over half the length.
        spiral_deg: slope of the fibre to the face (runout).
        figure: strength of curl 0..1, figure_mm its wavelength.
        pitch, stains: how many, or where. wane_mm: how far bark reaches in at the edge away from the pith.
    """
    wood = species_named(species)
    dice = stream(seed, "log")
    drawn = dice.uniform(0, 1, 5)
    lean = np.radians(6.0 * drawn[0] if lean_deg is None else lean_deg)
    far = 160.0 + 120.0 * drawn[1] if pith_mm is None else pith_mm
    side = -1.0 if pith_side == "left" else 1.0
    trend = -0.25 + 0.4 * drawn[2] if ring_trend is None else ring_trend
    width = NOMINAL_WIDTH_MM
    years = grow_years(
        seed, wood, ring_mm or wood.ring_mm, far, trend / width, ring_spread, far + width / 2 + 160.0
    )
    log = Log(
        seed=seed,
        wood=wood,
        years=years,
        pith_u_mm=side * far * float(np.cos(lean)),
        pith_v_mm=-far * float(np.sin(lean)),
        taper=0.006 * drawn[3] if taper is None else taper,
        bend_mm=bend_mm,
        waves=_waves(seed, wander_mm),
        spiral_deg=2.4 * (drawn[4] - 0.5) if spiral_deg is None else spiral_deg,
        figure=figure,
        figure_mm=figure_mm,
        bark_mm=1e6,
        bark_waves=np.array(
            [[0.5, 2 * np.pi / 430.0, 1.0], [0.22, 2 * np.pi / 130.0, 2.0], [0.06, 0.2, 0.3]]
        ),
    )
    return _furnish(log, knots, pitch, stains, wane_mm)


def _furnish(
    log: Log,
    knots: int | Sequence[KnotAt],
    pitch: int | Sequence[PocketAt],
    stains: int | Sequence[StainAt],
    wane_mm: float,
) -> Log:
    """Add what grew, broke or bled in the log."""
    values = dict(log.__dict__)
    if wane_mm > 0:
        edge_u = -np.sign(log.pith_u_mm) * (NOMINAL_WIDTH_MM / 2 - wane_mm)
        values["bark_mm"] = float(log.clear_radius(np.array(edge_u), np.array(0.0), np.array(0.0)))
        values["bark_waves"] = log.bark_waves * np.array([[0.9 * wane_mm, 1.0, 1.0]])
    outward = log.outward(0.0, 0.0)
    values["knots"] = branches.grow_knots(log.seed, knots, outward)
    grown = Log(**values)
    values["pockets"] = grow_pockets(log.seed, pitch, grown.radius)
    values["stains"] = grow_stains(log.seed, stains)
    return Log(**values)
