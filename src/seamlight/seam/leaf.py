"""A leaf in its own plane: how stiff its joint edge is against the partner.

Along the joint the leaf stands on equal stations. `edge_stiffness` says what forces at the stations hold the
joint edge in a shape; both leaves are alike, so each gives half the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.timber.elastic import TRUE_OVER_BENDING, elastic_facts, elastic_ratios
from seamlight.timber.species import species

Floats = NDArray[np.float64]
Kind = Literal["softwood", "hardwood"]

STATIONS = 112
SHEAR_COEFFICIENT = 5 / 6  # Timoshenko 1921: rectangular section, Poisson's ratio left out

# Middling leaves, for wood that is not named: softwood after Sitka spruce, hardwood between black walnut and
# sugar maple (Wood Handbook, Tables 5-1 and 5-3, transcribed)
_MIDDLING: dict[Kind, tuple[float, float, float, float]] = {
    "softwood": (10_500.0, 0.064, 0.078, 0.372),
    "hardwood": (13_000.0, 0.098, 0.12, 0.45),
}


@dataclass(frozen=True)
class Leaf:
    """Measures in mm, moduli in MPa: along the grain and joint, across in the plane, and in-plane shear."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    e_along_mpa: float
    e_across_mpa: float
    g_mpa: float
    poisson: float  # across over along, under a pull along
    kind: Kind
    source: str


def leaf_of(
    length_mm: float,
    width_mm: float,
    thickness_mm: float,
    *,
    name: str | None = None,
    kind: Kind = "softwood",
) -> Leaf:
    """A quarter-sawn leaf of a species, or a middling one of its kind where the species isn't named.

    Raises:
        Mistake: no such species, or measures that no leaf has.
    """
    if not (50 <= length_mm <= 2000 and 20 <= width_mm <= 500 and 0.5 <= thickness_mm <= 30):
        raise Mistake(
            f"{length_mm:g} x {width_mm:g} x {thickness_mm:g} mm is no leaf",
            do="give length, width and thickness of one leaf, such as 550 x 200 x 4",
        )
    measures = (length_mm, width_mm, thickness_mm)
    if name is None:
        along, shear, across, poisson = _MIDDLING[kind]
        return Leaf(*measures, along, across * along, shear * along, poisson, kind, f"a middling {kind}")
    facts, ratios, wood = elastic_facts(name), elastic_ratios(name), species(name)
    bending = facts.bending_e_mpa
    along = TRUE_OVER_BENDING * bending.value if bending is not None else _MIDDLING[wood.kind][0]
    source = f"{wood.name}, {bending.source}" if bending is not None else f"a middling {wood.kind}"
    source += "" if ratios.of == wood.name else f"; ratios of {ratios.of}"
    return Leaf(
        *measures, along, ratios.e_radial * along, ratios.g_lr * along, ratios.nu_lr, wood.kind, source
    )


def stations(leaf: Leaf, count: int = STATIONS) -> Floats:
    """(count,) equal stations along the joint, mm."""
    return np.linspace(0.0, leaf.length_mm, count)


def station_lengths(leaf: Leaf, count: int = STATIONS) -> Floats:
    """(count,) the length of joint that each station stands for, mm."""
    lengths = np.full(count, leaf.length_mm / (count - 1))
    lengths[[0, -1]] /= 2
    return lengths


def beam_stiffness(leaf: Leaf, count: int = STATIONS, *, shear: bool = True) -> Floats:
    """(count, count) N/mm: the leaf as a deep beam whose section keeps its depth; free at both ends.

    Args:
        shear: False leaves out shear, as Euler and Bernoulli did.
    """
    e, t, h = leaf.e_along_mpa, leaf.thickness_mm, leaf.width_mm
    step = leaf.length_mm / (count - 1)
    bending = e * t * h**3 / 12
    # Timoshenko beam element with two nodes: Przemieniecki, Theory of Matrix Structural Analysis (1968), 5.6
    phi = 12 * bending / (SHEAR_COEFFICIENT * leaf.g_mpa * t * h * step**2) if shear else 0.0
    c, a, b = bending / (step**3 * (1 + phi)), 6 * step, step**2
    element = c * np.array(
        [
            [12, a, -12, a],
            [a, (4 + phi) * b, -a, (2 - phi) * b],
            [-12, -a, 12, -a],
            [a, (2 - phi) * b, -a, (4 + phi) * b],
        ]
    )
    whole = np.zeros((2 * count, 2 * count))
    for i in range(count - 1):
        whole[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += element
    deflect, turn = slice(0, None, 2), slice(1, None, 2)
    stiffness: Floats = whole[deflect, deflect] - whole[deflect, turn] @ np.linalg.solve(
        whole[turn, turn], whole[turn, deflect]
    )
    return stiffness
