"""The joined, unbraced plate of a real outline with its soundhole: first modes, static stiffness.

A check on the thickness rules and a picture of how the plate would move; not a finished, braced guitar. In a
vacuum: round the clamped plate of a box the air acts as a spring too, which no plate model tells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seamlight.outline import Outline, polygon
from seamlight.plate.finite import Assembled, Edge, assemble, give, kept_unknowns, lowest_modes, spread_load
from seamlight.plate.legendre import Array
from seamlight.plate.outline_mesh import Mesh, mesh
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2

_EVENLY = (np.arange(16) + 0.5) / 16  # places over the bridge, each way
SPACING_MM = 12.0  # the first six frequencies are within 1 % of converged; see docs/plate.md


@dataclass(frozen=True, eq=False)
class OutlinePlate:
    """Modes of an outline's plate.

    Attributes:
        edge: how the rim holds it.
        hz: the first frequencies, rising.
        nodes_mm: (n, 2) in the body frame; triangles: (m, 3).
        shapes: (modes, n) displacement, greatest 1.
        stiffness_n_mm: load on the bridge's place over its displacement; None for a free plate.
        area_mm2: of the plate less the soundhole.
    """

    edge: Edge
    hz: tuple[float, ...]
    nodes_mm: Array
    triangles: NDArray[np.intp]
    shapes: Array
    stiffness_n_mm: float | None
    area_mm2: float

    def weight_g(self, density_kg_m3: float, thickness_mm: float) -> float:
        """Weight of the plate."""
        return self.area_mm2 * thickness_mm * density_kg_m3 * 1e-6


def outline_mesh(outline: Outline, spacing_mm: float = SPACING_MM) -> Mesh:
    """Triangles over an outline less its soundhole (none on a back)."""
    zones = outline.zones
    hole = (0.0, zones.soundhole_y_mm, zones.soundhole_mm / 2) if zones.soundhole_mm else None
    return mesh(np.asarray(polygon(outline), dtype=np.float64), spacing_mm, hole)


def outline_plate(
    outline: Outline,
    elastic: Elastic,
    density_kg_m3: float,
    thickness_mm: float,
    edge: Edge = "hinged",
    *,
    modes: int = 6,
    spacing_mm: float = SPACING_MM,
    grid: Mesh | None = None,
) -> OutlinePlate:
    """First modes and static stiffness of the plate, grain along the body.

    Args:
        grid: the mesh, where it was made before for the same outline.

    Raises:
        Mistake: an outline or soundhole that cannot be.
    """
    made = outline_mesh(outline, spacing_mm) if grid is None else grid
    parts = assemble(made, bending(elastic, thickness_mm))
    kept = kept_unknowns(made, edge)
    hz, shapes = lowest_modes(parts, kept, mass_t_mm2(density_kg_m3, thickness_mm), modes, edge)
    stiff = None if edge == "free" else 1 / give(parts, kept, _bridge_load(outline, made, parts))
    return OutlinePlate(
        edge, tuple(float(x) for x in hz), made.nodes_mm, made.triangles, shapes, stiff, made.area_mm2()
    )


def first_hz_per_mm(plate: OutlinePlate, thickness_mm: float) -> float:
    """Lowest frequency at 1 mm thickness: a thin plate's frequencies go with its thickness."""
    return plate.hz[0] / thickness_mm


def _bridge_load(outline: Outline, made: Mesh, parts: Assembled) -> Array:
    """1 N spread over the bridge's place; for a back, over the same span at the lower bout's middle."""
    zones = outline.zones
    long = zones.bridge_length_mm or 50.0
    wide = zones.bridge_width_mm or 185.0
    at = zones.bridge_y_mm if zones.bridge_length_mm else 0.65 * outline.length_mm
    x, y = np.meshgrid((_EVENLY - 0.5) * wide, at + (_EVENLY - 0.5) * long)
    return spread_load(made, parts, np.stack((x.ravel(), y.ravel()), axis=1))
