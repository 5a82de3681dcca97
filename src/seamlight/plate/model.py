"""A plate on the bench: the three frequencies it should ring at, with shear, air and taper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.plate.air_load import AIR_KG_M3, air_mass
from seamlight.plate.legendre import Array
from seamlight.plate.named import NAMES, Name, NamedModes, name_modes
from seamlight.plate.piece import Piece
from seamlight.plate.ritz import SYMMETRIES, TERMS, RitzMode, Symmetry, class_modes, degrees_of
from seamlight.plate.ritz_shear import thick_class_hz
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2
from seamlight.plate.taper import taper_ratios


@dataclass(frozen=True, eq=False)
class Surroundings:
    """Air round one piece: its mass over the shapes of each symmetry class; empty in a vacuum."""

    air_kg_m3: float
    mass: dict[Symmetry, Array]


@dataclass(frozen=True)
class Corrections:
    """Factors on the frequencies of the thin rectangle in air: twist, along, across."""

    shear: tuple[float, float, float] = (1.0, 1.0, 1.0)
    taper: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def of(self, name: Name) -> float:
        """Both together for one mode."""
        place = NAMES.index(name)
        return self.shear[place] * self.taper[place]


def surroundings(
    piece: Piece, air_kg_m3: float = AIR_KG_M3, symmetries: tuple[Symmetry, ...] = ("ee", "oo")
) -> Surroundings:
    """The air round a piece; worked out once, since it does not depend on the wood."""
    if air_kg_m3 == 0:
        return Surroundings(0.0, {})
    size = (piece.length_mm, piece.width_mm)
    return Surroundings(air_kg_m3, {one: air_mass(one, *size, TERMS, air_kg_m3) for one in symmetries})


def modes_of(
    symmetry: Symmetry, piece: Piece, elastic: Elastic, around: Surroundings, count: int
) -> list[RitzMode]:
    """The lowest modes of a symmetry class of the thin rectangle in its air."""
    return class_modes(
        symmetry,
        bending(elastic, piece.thickness_mm),
        piece.length_mm,
        piece.width_mm,
        mass_t_mm2(piece.density_kg_m3, piece.thickness_mm),
        count,
        TERMS,
        around.mass.get(symmetry),
    )


def named_modes(piece: Piece, elastic: Elastic, around: Surroundings) -> NamedModes:
    """Twist, along and across of the thin rectangle in its air."""
    return name_modes(modes_of("ee", piece, elastic, around, 4), modes_of("oo", piece, elastic, around, 1))


def corrections(piece: Piece, elastic: Elastic, named: NamedModes) -> Corrections:
    """What shear through the thickness and the taper do; both change slowly with the constants."""
    return Corrections(_shear(piece, elastic, named), taper_ratios(piece, elastic, named))


def _shear(piece: Piece, elastic: Elastic, named: NamedModes) -> tuple[float, float, float]:
    if not elastic.g_along_thick_mpa or not elastic.g_across_thick_mpa:
        return 1.0, 1.0, 1.0
    deepest = max(named.order["along"], named.order["across"]) + 1
    bent = _thick_over_thin("ee", piece, elastic, deepest)
    twisted = _thick_over_thin("oo", piece, elastic, 1)
    return twisted[0], bent[named.order["along"]], bent[named.order["across"]]


def _thick_over_thin(symmetry: Symmetry, piece: Piece, elastic: Elastic, count: int) -> list[float]:
    """Ratios of frequency with shear and rotary inertia to frequency without, both in a vacuum."""
    size = (piece.length_mm, piece.width_mm, piece.thickness_mm)
    thick = thick_class_hz(symmetry, elastic, piece.density_kg_m3, size, count)
    thin = modes_of(symmetry, piece, elastic, Surroundings(0.0, {}), count)
    return [float(hz / mode.hz) for hz, mode in zip(thick, thin, strict=True)]


def frequencies_hz(piece: Piece, elastic: Elastic, around: Surroundings | None = None) -> dict[Name, float]:
    """Twist, along and across of a piece, Hz, with shear, taper and air; `around` None: still air at 20 C."""
    air = surroundings(piece) if around is None else around
    named = named_modes(piece, elastic, air)
    factors = corrections(piece, elastic, named)
    return {name: named.modes[name].hz * factors.of(name) for name in NAMES}


def all_modes(
    piece: Piece, elastic: Elastic, count: int = 10, air_kg_m3: float = AIR_KG_M3
) -> list[RitzMode]:
    """The lowest modes of the thin rectangle of a piece in air, rising: for drawing and for telling peaks."""
    around = surroundings(piece, air_kg_m3, SYMMETRIES)
    found = [mode for one in SYMMETRIES for mode in modes_of(one, piece, elastic, around, count)]
    return sorted(found, key=lambda mode: mode.hz)[:count]


def air_share(piece: Piece, named: NamedModes, around: Surroundings) -> dict[Name, float]:
    """Mass of the air that moves with each mode over the plate's own."""
    mass = mass_t_mm2(piece.density_kg_m3, piece.thickness_mm)
    share: dict[Name, float] = {}
    for name in NAMES:
        mode = named.modes[name]
        matrix = around.mass.get(mode.symmetry)
        i, j = degrees_of(mode.symmetry, TERMS)
        shape = mode.coefficients[np.ix_(i, j)].ravel()
        share[name] = 0.0 if matrix is None else float(shape @ matrix @ shape / (shape @ shape) / mass)
    return share
