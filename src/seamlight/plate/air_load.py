"""The air that moves with a free plate: its mass as a matrix over the plate's shapes.

The plate is a thin sheet in still air without a baffle; its wavelengths of sound are many times its size, so
the air flows round it as if it could not be compressed, and acts as mass alone.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from seamlight.plate.legendre import Array, basis
from seamlight.plate.ritz import Symmetry, degrees_of
from seamlight.plate.stiffness import TONNE_PER_MM3

AIR_KG_M3 = 1.20  # 20 degrees C, 50 % RH, sea level, by `air_density_kg_m3`
_PANELS = (12, 10)  # over a quarter of the plate, along and across


def air_density_kg_m3(temp_c: float = 20.0, pressure_pa: float = 101_325.0) -> float:
    """Density of dry air; moisture in it takes off less than 1 %.

    >>> round(air_density_kg_m3(20), 3)
    1.204
    """
    # ideal gas, R of dry air 287.05 J/(kg K) (ISO 2533, value from memory)
    return pressure_pa / (287.05 * (temp_c + 273.15))


def _edges(panels: int) -> Array:
    """Panel edges on 0..1, closing up toward the plate's edge, where the flow is sharpest."""
    return np.asarray(np.sin(np.linspace(0, np.pi / 2, panels + 1)), dtype=np.float64)


def _corner(dx: Array, dy: Array) -> Array:
    # the double integral of (x^2 + y^2)^(-3/2) is -sqrt(x^2 + y^2) / (x y), by differentiation
    return np.asarray(-np.sqrt(dx**2 + dy**2) / (dx * dy), dtype=np.float64)


@lru_cache(maxsize=64)
def _quarter(length_mm: float, width_mm: float) -> tuple[Array, Array, Array, tuple[Array, ...]]:
    """Panel middles x and y and areas (n) over one quarter; the flow (n, n) from each of the four images."""
    edge_x = _edges(_PANELS[0]) * length_mm / 2
    edge_y = _edges(_PANELS[1]) * width_mm / 2
    angle_x = (np.arange(_PANELS[0]) + 0.5) / _PANELS[0] * np.pi / 2
    angle_y = (np.arange(_PANELS[1]) + 0.5) / _PANELS[1] * np.pi / 2
    mid_x, mid_y = np.sin(angle_x) * length_mm / 2, np.sin(angle_y) * width_mm / 2
    x, y = (grid.ravel() for grid in np.meshgrid(mid_x, mid_y, indexing="ij"))
    area = np.outer(np.diff(edge_x), np.diff(edge_y)).ravel()
    low_x, low_y = (g.ravel() for g in np.meshgrid(edge_x[:-1], edge_y[:-1], indexing="ij"))
    high_x, high_y = (g.ravel() for g in np.meshgrid(edge_x[1:], edge_y[1:], indexing="ij"))
    flows = []
    for sx, sy in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        left, right = low_x - sx * x[:, None], high_x - sx * x[:, None]
        near, far = low_y - sy * y[:, None], high_y - sy * y[:, None]
        flow = _corner(right, far) - _corner(left, far) - _corner(right, near) + _corner(left, near)
        flows.append(-flow / (4 * np.pi))
    return x, y, area, tuple(flows)


def air_mass(
    symmetry: Symmetry, length_mm: float, width_mm: float, terms: int, air_kg_m3: float = AIR_KG_M3
) -> Array:
    """(n, n) mass per area, tonnes per mm2, over the products of one symmetry class in their usual order."""
    # H. Lamb, Hydrodynamics, section 44: kinetic energy of the air is half its density by the integral over
    # the sheet of the jump of velocity potential by normal velocity; the jump is a layer of doublets
    x, y, area, flows = _quarter(length_mm, width_mm)
    sign_x, sign_y = (1 if c == "e" else -1 for c in symmetry)
    flow = flows[0] + sign_y * flows[1] + sign_x * flows[2] + sign_x * sign_y * flows[3]
    i, j = degrees_of(symmetry, terms)
    along = basis(2 * x / length_mm, terms)[:, i]
    across = basis(2 * y / width_mm, terms)[:, j]
    velocity = (along[:, :, None] * across[:, None, :]).reshape(len(x), -1)
    jump = np.linalg.solve(flow, velocity)
    energy = 4 * (velocity * area[:, None]).T @ jump * air_kg_m3 * TONNE_PER_MM3
    return np.asarray((energy + energy.T) / 2 / (length_mm * width_mm / 4), dtype=np.float64)
