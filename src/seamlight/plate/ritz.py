"""Free rectangular orthotropic plate: frequencies and shapes by Rayleigh-Ritz on Legendre products.

No edge condition binds a free plate, so any complete set of functions will do; Legendre products make the
mass matrix diagonal, and the four symmetry classes of the plate fall apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

from seamlight.plate.legendre import Array, basis, products
from seamlight.plate.stiffness import Bending

Symmetry = Literal["ee", "eo", "oe", "oo"]  # even or odd along, then across
SYMMETRIES: tuple[Symmetry, ...] = ("ee", "eo", "oe", "oo")
TERMS = 10  # per axis: the first eight frequencies of the plates in the tests within 0.03 % of converged
_RIGID: dict[str, int] = {"ee": 1, "eo": 1, "oe": 1, "oo": 0}  # moves without bending in each class


@dataclass(frozen=True, eq=False)
class RitzMode:
    """One mode of the plate.

    Attributes:
        hz: frequency.
        symmetry: even or odd along and across.
        shares: parts of the strain energy: bending along, the coupling of both, bending across, twisting;
            they add up to 1.
        coefficients: (terms, terms) of the Legendre products along x across; unit mean square.
    """

    hz: float
    symmetry: Symmetry
    shares: tuple[float, float, float, float]
    coefficients: Array

    def shape(self, along: Array, across: Array) -> Array:
        """(n, m) displacement at fractions 0..1 of length (n) and width (m)."""
        terms = self.coefficients.shape[0]
        x, y = 2 * np.asarray(along) - 1, 2 * np.asarray(across) - 1
        return np.asarray(basis(x, terms) @ self.coefficients @ basis(y, terms).T, dtype=np.float64)

    def at(self, along: float, across: float) -> float:
        """Displacement at one place, by fractions 0..1."""
        return float(self.shape(np.array([along]), np.array([across]))[0, 0])


@dataclass(frozen=True, eq=False)
class Energies:
    """Energy matrices of one symmetry class on -1..1 squared for unit stiffness; degrees of its functions."""

    along: Array
    coupling: Array
    across: Array
    twist: Array
    i: NDArray[np.intp]  # degree along of each function
    j: NDArray[np.intp]  # degree across


def degrees_of(symmetry: Symmetry, terms: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Degrees along and across of a symmetry class."""
    starts = (0 if part == "e" else 1 for part in symmetry)
    i, j = (np.arange(start, terms, 2, dtype=np.intp) for start in starts)
    return i, j


def _kron(along: Array, across: Array) -> Array:
    return np.asarray(np.kron(along, across), dtype=np.float64)


@cache
def energies(symmetry: Symmetry, terms: int) -> Energies:
    """The energy matrices of a class; one for all plates."""
    i, j = degrees_of(symmetry, terms)
    unit_i, unit_j = np.eye(len(i)), np.eye(len(j))
    bent, slope, mixed = products(terms, 2, 2), products(terms, 1, 1), products(terms, 0, 2)
    cross = _kron(mixed[np.ix_(i, i)], mixed[np.ix_(j, j)].T)
    degrees = np.meshgrid(i, j, indexing="ij")
    return Energies(
        along=_kron(bent[np.ix_(i, i)], unit_j),
        coupling=cross + cross.T,
        across=_kron(unit_i, bent[np.ix_(j, j)]),
        twist=4 * _kron(slope[np.ix_(i, i)], slope[np.ix_(j, j)]),
        i=degrees[0].ravel(),
        j=degrees[1].ravel(),
    )


def stiffness_matrix(parts: Energies, plate: Bending, length_mm: float, width_mm: float) -> Array:
    """Stiffness of a class over the plate's area / 4, so that its mass matrix is the mass per area."""
    # A. W. Leissa, Vibration of Plates, NASA SP-160 (1969), section 9.1: twice the strain energy is the
    # integral of D_x w_xx^2 + 2 nu_y D_x w_xx w_yy + D_y w_yy^2 + 4 D_xy w_xy^2
    a, b = 2 / length_mm, 2 / width_mm
    return np.asarray(
        plate.along * a**4 * parts.along
        + plate.coupling * a**2 * b**2 * parts.coupling
        + plate.across * b**4 * parts.across
        + plate.twist * a**2 * b**2 * parts.twist
    )


def class_modes(
    symmetry: Symmetry,
    plate: Bending,
    length_mm: float,
    width_mm: float,
    mass: float,
    count: int,
    terms: int = TERMS,
    air: Array | None = None,
) -> list[RitzMode]:
    """The lowest `count` modes of one symmetry class.

    Args:
        mass: of the plate per area, tonnes per mm2.
        air: mass matrix per area of the air that moves along, of the same class; None in a vacuum.
    """
    parts = energies(symmetry, terms)
    stiffness = stiffness_matrix(parts, plate, length_mm, width_mm)
    rigid = _RIGID[symmetry]
    window = (rigid, min(rigid + count, len(stiffness)) - 1)
    if air is None:
        squared, vectors = eigh(stiffness / mass, subset_by_index=window)
    else:
        inertia = mass * np.eye(len(stiffness))
        inertia[: len(air), : len(air)] += air
        squared, vectors = eigh(stiffness, inertia, subset_by_index=window)
    return [
        _mode(symmetry, parts, plate, (length_mm, width_mm), float(w2), vector, terms)
        for w2, vector in zip(squared, vectors.T, strict=True)
    ]


def _mode(
    symmetry: Symmetry,
    parts: Energies,
    plate: Bending,
    size_mm: tuple[float, float],
    omega2: float,
    vector: Array,
    terms: int,
) -> RitzMode:
    a, b = 2 / size_mm[0], 2 / size_mm[1]
    unit = vector / np.linalg.norm(vector) * 2  # the products' mean square over the plate is 1 / 4
    along = float(plate.along * a**4 * (unit @ parts.along @ unit))
    coupling = float(plate.coupling * a**2 * b**2 * (unit @ parts.coupling @ unit))
    across = float(plate.across * b**4 * (unit @ parts.across @ unit))
    twist = float(plate.twist * a**2 * b**2 * (unit @ parts.twist @ unit))
    total = along + coupling + across + twist
    coefficients = np.zeros((terms, terms))
    coefficients[parts.i, parts.j] = unit
    return RitzMode(
        float(np.sqrt(max(omega2, 0.0)) / (2 * np.pi)),
        symmetry,
        (along / total, coupling / total, across / total, twist / total),
        coefficients,
    )


@cache
def _stacked(terms: int) -> tuple[Array, Array, Array, Array]:
    """(4, n, n) energy matrices of all classes: along, coupling, across, twist; `terms` even."""
    parts = [energies(symmetry, terms) for symmetry in SYMMETRIES]
    return (
        np.stack([p.along for p in parts]),
        np.stack([p.coupling for p in parts]),
        np.stack([p.across for p in parts]),
        np.stack([p.twist for p in parts]),
    )


def free_plate_hz(
    plate: Bending, length_mm: float, width_mm: float, mass: float, count: int = 8, terms: int = TERMS
) -> Array:
    """The lowest `count` frequencies of a thin free plate in a vacuum, Hz, rising.

    Args:
        plate: bending stiffness, length along the grain.
        mass: per area, tonnes per mm2.
        terms: per axis, even.

    >>> from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2
    >>> board = bending(Elastic(11000, 858, 704, 0.372), 3)
    >>> [round(float(hz), 2) for hz in free_plate_hz(board, 500, 200, mass_t_mm2(400, 3), 3)]
    [41.98, 64.67, 106.82]
    """
    a, b = 2 / length_mm, 2 / width_mm
    along, coupling, across, twist = _stacked(terms)
    stiffness = (
        (plate.along * a**4 / mass) * along
        + (plate.coupling * a**2 * b**2 / mass) * coupling
        + (plate.across * b**4 / mass) * across
        + (plate.twist * a**2 * b**2 / mass) * twist
    )
    squared = np.sort(np.linalg.eigvalsh(stiffness), axis=None)[3 : 3 + count]  # three rigid moves
    return np.asarray(np.sqrt(squared) / (2 * np.pi), dtype=np.float64)


def free_plate(
    plate: Bending, length_mm: float, width_mm: float, mass: float, count: int = 10, terms: int = TERMS
) -> list[RitzMode]:
    """The lowest `count` modes of a thin free plate in a vacuum, rising.

    Args:
        plate: bending stiffness, length along the grain.
        mass: per area, tonnes per mm2.
    """
    found = [
        mode
        for symmetry in SYMMETRIES
        for mode in class_modes(symmetry, plate, length_mm, width_mm, mass, count, terms)
    ]
    return sorted(found, key=lambda mode: mode.hz)[:count]
