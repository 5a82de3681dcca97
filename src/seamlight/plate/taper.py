"""A slightly tapered leaf: what the taper does to its modes, against the rectangle of the same mean width."""

from __future__ import annotations

import numpy as np
from scipy.linalg import eigh

from seamlight.plate.legendre import Array, basis, gauss
from seamlight.plate.named import NamedModes
from seamlight.plate.piece import Piece
from seamlight.plate.ritz import class_modes
from seamlight.plate.stiffness import Bending, Elastic, bending, mass_t_mm2

_TERMS, _POINTS = 9, 12


def _squared(plate: Bending, mass: float, length: float, widths: tuple[float, float], even: bool) -> Array:
    """Squared angular frequencies of a trapezoid, rising, shapes even or odd across, rigid ones left out."""
    nodes, weights = gauss(_POINTS)
    width = (widths[0] * (1 - nodes) + widths[1] * (1 + nodes)) / 2  # at each place along
    middle = (widths[0] + widths[1]) / 2
    eta = np.outer(width / middle, nodes)  # across, as fractions of half the mean width
    area = np.outer(weights * width / middle, weights).ravel()
    j = np.arange(0 if even else 1, _TERMS, 2)
    along = [basis(nodes, _TERMS, order) for order in range(3)]
    across = [basis(eta.ravel(), _TERMS, order)[:, j].reshape(*eta.shape, -1) for order in range(3)]

    def fields(order_x: int, order_y: int) -> Array:
        product = along[order_x][:, None, :, None] * across[order_y][:, :, None, :]
        return np.asarray(product.reshape(len(area), -1), dtype=np.float64)

    a, b = 2 / length, 2 / middle
    w, xx, yy, xy = fields(0, 0), a**2 * fields(2, 0), b**2 * fields(0, 2), a * b * fields(1, 1)
    weighted = [field * area[:, None] for field in (w, xx, yy, xy)]
    # A. W. Leissa, Vibration of Plates, NASA SP-160 (1969), section 9.1: strain energy
    cross = xx.T @ weighted[2]
    stiffness = (
        plate.along * xx.T @ weighted[1]
        + plate.coupling * (cross + cross.T)
        + plate.across * yy.T @ weighted[2]
        + 4 * plate.twist * xy.T @ weighted[3]
    )
    squared = eigh(stiffness, mass * w.T @ weighted[0], eigvals_only=True)
    return np.asarray(squared[2 if even else 1 :], dtype=np.float64)


def taper_ratios(piece: Piece, elastic: Elastic, named: NamedModes) -> tuple[float, float, float]:
    """Frequency of twist, along and across of the tapered leaf over those of the rectangle of its mean width.

    `named` are the rectangle's modes. 1 for a rectangle.
    """
    if piece.taper == 0:
        return 1.0, 1.0, 1.0
    plate = bending(elastic, piece.thickness_mm)
    mass = mass_t_mm2(piece.density_kg_m3, piece.thickness_mm)
    size = (piece.length_mm, piece.width_mm)
    straight, tapered = (
        {even: _squared(plate, mass, piece.length_mm, widths, even) for even in (True, False)}
        for widths in ((piece.width_mm, piece.width_mm), (piece.width1_mm, piece.width2_mm))
    )
    second = [mode.hz for mode in class_modes("oe", plate, *size, mass, 3)]

    def ratio(even: bool, place: int) -> float:
        return float(np.sqrt(tapered[even][place] / straight[even][place]))

    # among shapes even across stand both the bent ones and, between them, those odd along
    places = [
        named.order[name] + sum(hz < named.modes[name].hz for hz in second) for name in ("along", "across")
    ]
    return ratio(False, 0), ratio(True, places[0]), ratio(True, places[1])
