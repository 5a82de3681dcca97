"""Finite elements of a thin plate on any mesh: its modes and its give under a load."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import coo_matrix, csc_matrix
from scipy.sparse.linalg import LinearOperator, eigsh

from seamlight.plate.legendre import Array
from seamlight.plate.outline_mesh import Mesh
from seamlight.plate.stiffness import Bending
from seamlight.plate.triangle import displacement, mass, stiffness

Edge = Literal["clamped", "hinged", "free"]


@dataclass(frozen=True, eq=False)
class Assembled:
    """Stiffness (N/mm per unknown) and mass (for 1 t/mm2) of a meshed plate; unknowns w, w_x, w_y by node."""

    stiffness: csc_matrix
    mass: csc_matrix
    unknowns: NDArray[np.intp]  # (m, 9) numbers of each element's unknowns


def rigidity(plate: Bending) -> Array:
    """(3, 3) for curvatures w_xx, w_yy, 2 w_xy in the body frame, whose y runs along the grain."""
    # A. W. Leissa, NASA SP-160 (1969), section 9.1
    return np.array(
        [[plate.across, plate.coupling, 0], [plate.coupling, plate.along, 0], [0, 0, plate.twist]]
    )


def assemble(grid: Mesh, plate: Bending) -> Assembled:
    """The matrices of the whole plate with its edges free."""
    unknowns = (3 * grid.triangles[:, :, None] + np.arange(3)).reshape(-1, 9)
    rows = np.repeat(unknowns, 9, axis=1).ravel()
    columns = np.tile(unknowns, (1, 9)).ravel()
    size = 3 * len(grid.nodes_mm)

    def whole(parts: Array) -> csc_matrix:
        return coo_matrix((parts.ravel(), (rows, columns)), shape=(size, size)).tocsc()

    return Assembled(whole(stiffness(grid.corners, rigidity(plate))), whole(mass(grid.corners)), unknowns)


def kept_unknowns(grid: Mesh, edge: Edge) -> NDArray[np.intp]:
    """Unknowns that the outer edge leaves free; the soundhole's edge is always free."""
    held = np.zeros(3 * len(grid.nodes_mm), dtype=bool)
    if edge != "free":
        held[3 * grid.rim] = True
    if edge == "clamped":
        held[3 * grid.rim + 1] = held[3 * grid.rim + 2] = True
    return np.flatnonzero(~held).astype(np.intp)


def _solver(matrix: csc_matrix) -> Callable[[Array], Array]:
    """Solves with a positive definite matrix whose nodes run along the body, so that it is a narrow band."""
    lower = coo_matrix(matrix)
    below = lower.row >= lower.col
    row, column, value = lower.row[below], lower.col[below], lower.data[below]
    band = np.zeros((int((row - column).max()) + 1, matrix.shape[0]))
    band[row - column, column] = value
    factor = cholesky_banded(band, lower=True, overwrite_ab=True, check_finite=False)
    return lambda right: np.asarray(
        cho_solve_banded((factor, True), right, check_finite=False), dtype=np.float64
    )


def lowest_modes(
    parts: Assembled, kept: NDArray[np.intp], mass_t_mm2: float, count: int, edge: Edge
) -> tuple[Array, Array]:
    """Frequencies (count) in Hz, rising, and (count, nodes) displacements whose greatest is 1."""
    k, m = parts.stiffness[kept][:, kept], parts.mass[kept][:, kept] * mass_t_mm2
    rigid = 3 if edge == "free" else 0
    shift = -((2 * np.pi * 10.0) ** 2) if rigid else 0.0
    solve = LinearOperator(k.shape, _solver(k - shift * m), dtype=np.float64)
    start = np.cos(np.arange(len(kept)) * 0.7)  # any vector: the same one every time
    squared, vectors = eigsh(k, count + rigid, m, sigma=shift, OPinv=solve, v0=start, tol=1e-8)
    order = np.argsort(squared)[rigid:]
    shapes = np.zeros((count, parts.stiffness.shape[0] // 3))
    places = kept // 3
    own = kept % 3 == 0
    for row, column in enumerate(order):
        shapes[row, places[own]] = vectors[own, column]
        shapes[row] /= shapes[row][np.argmax(np.abs(shapes[row]))]
    return np.sqrt(np.maximum(squared[order], 0)) / (2 * np.pi), shapes


def spread_load(grid: Mesh, parts: Assembled, places_mm: Array) -> Array:
    """1 N shared evenly by places (p, 2), mm, as forces on the unknowns; places off the plate bear none."""
    corners = grid.corners
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    to = places_mm[:, None, :] - corners[None, :, 0]
    l2 = (to[..., 0] * b[:, 1] - to[..., 1] * b[:, 0]) / twice
    l3 = (a[:, 0] * to[..., 1] - a[:, 1] * to[..., 0]) / twice
    inside = np.minimum(np.minimum(l2, l3), 1 - l2 - l3)  # (p, m): how far inside each triangle
    nearest = inside.argmax(axis=1)
    on = np.flatnonzero(inside.max(axis=1) > -1e-9)
    element = nearest[on]
    first, second = 1 - l2[on, element] - l3[on, element], l2[on, element]
    shape = displacement(corners[element], first[:, None], second[:, None])[:, 0]
    load = np.zeros(parts.stiffness.shape[0])
    np.add.at(load, parts.unknowns[element].ravel(), shape.ravel() / max(len(on), 1))
    return load


def give(parts: Assembled, kept: NDArray[np.intp], load: Array) -> float:
    """Mean displacement under a load of 1 N in all, mm: `load` sums to 1 over the w unknowns."""
    answer = _solver(parts.stiffness[kept][:, kept])(load[kept])
    return float(load[kept] @ answer)
