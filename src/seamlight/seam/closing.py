"""What clamps can close: an even pressure on the outer edges against the gap between the joint edges.

Each leaf is alike and gives half the gap; the edges press on one another where they meet and never pull. Two
figures are given. In the first the leaf is a deep beam (bending and shear) whose section keeps its depth: the
trade's rule of thumb, and the safe one. In the second the wood behind the edge gives as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, nnls

from seamlight.one_thread import one_blas_thread
from seamlight.seam.leaf import Floats, Leaf, beam_stiffness, station_lengths, stations
from seamlight.seam.profile import Profile
from seamlight.seam.shape import Shape
from seamlight.seam.smoothed import gap_at_stations
from seamlight.seam.yielding import yielding_stiffness

CLOSED_SHARE = 0.02  # of the widest gap: what may be left open when the joint counts as pulled shut
SAFETY = 1.5  # on the figure of yielding wood, whose stiffness varies by a quarter (our choice)
MOST_MPA = 50.0  # more than any wood bears across the grain
_HELD = 1e-6  # a weak spring that keeps a leaf from drifting, over the edge's own stiffness


@dataclass(frozen=True, eq=False)
class Contact:
    """Two leaves under an even clamp pressure."""

    s_mm: Floats
    gap_mm: Floats  # between the edges, what is left of it
    pressure_mpa: Floats  # of edge on edge; the clamp's own where the load goes straight through


@dataclass(frozen=True)
class Pull:
    """An even clamp pressure that shuts a joint, and what the glue holds back once the clamps are off.

    `stays_mpa` is the greatest pull that stays in the joint, `at_mm` where it is.
    """

    pressure_mpa: float
    stays_mpa: float
    at_mm: float


@dataclass(frozen=True)
class Closing:
    """What pulls a joint together: with leaves whose section keeps its depth, and with wood that yields."""

    area_mm2: float
    firm: Pull
    yielding: Pull

    @property
    def force_n(self) -> float:
        """Across the joint, the section keeping its depth."""
        return self.firm.pressure_mpa * self.area_mm2

    @property
    def safe(self) -> Pull:
        """The figure to go by: the firm section's, but no more than `SAFETY` times the yielding wood's.

        A section that keeps its depth cannot follow a short or flat-bottomed opening; wood does.
        """
        if self.firm.pressure_mpa <= SAFETY * self.yielding.pressure_mpa:
            return self.firm
        soft = self.yielding
        return Pull(SAFETY * soft.pressure_mpa, SAFETY * soft.stays_mpa, soft.at_mm)


def contact(stiffness: Floats, reach: Floats, gap_mm: Floats, leaf: Leaf, pressure_mpa: float) -> Contact:
    """Gap and pressure between two leaves.

    Args:
        stiffness: (n, n) N/mm of the joint edge.
        reach: (n,) mm, what 1 N/mm on the outer edge puts on its stations.
        gap_mm: (n,) fit gap at the stations.
        pressure_mpa: on the outer edges.
    """
    # One-sided contact as a quadratic program (Signorini's problem): with d = half gap left, d >= 0, least of
    # d'Kd/2 - d'(K g/2 - f). With K = LL' this is a non-negative least-squares problem.
    held = stiffness + np.eye(len(gap_mm)) * _HELD * np.trace(stiffness) / len(gap_mm)
    load = reach * pressure_mpa * leaf.thickness_mm
    factor = np.linalg.cholesky(held)
    left, _ = nnls(factor.T, np.linalg.solve(factor, held @ (gap_mm / 2) - load), maxiter=50 * len(gap_mm))
    reaction = load - stiffness @ (gap_mm / 2 - left)
    area = station_lengths(leaf, len(gap_mm)) * leaf.thickness_mm
    return Contact(stations(leaf, len(gap_mm)), 2 * left, np.maximum(reaction, 0.0) / area)


def _closing_mpa(stiffness: Floats, reach: Floats, gap_mm: Floats, leaf: Leaf) -> float:
    """The least even pressure that leaves no more than `CLOSED_SHARE` of the widest gap."""
    goal = CLOSED_SHARE * float(gap_mm.max())

    def open_still(pressure: float) -> float:
        return float(contact(stiffness, reach, gap_mm, leaf, pressure).gap_mm.max()) - goal

    high = 0.05
    while open_still(high) > 0:
        high *= 2
        if high > MOST_MPA:
            return MOST_MPA
    low = 0.0 if high == 0.05 else high / 2
    return float(brentq(open_still, low, high, xtol=1e-5, rtol=1e-4))


def _pull(stiffness: Floats, reach: Floats, gap_mm: Floats, leaf: Leaf) -> Pull:
    """The pressure that shuts a gap and the pull that stays."""
    pressure = _closing_mpa(stiffness, reach, gap_mm, leaf)
    shut = contact(stiffness, reach, gap_mm, leaf, pressure)
    pull = np.maximum(pressure - shut.pressure_mpa, 0.0)
    at = int(np.argmax(np.where(pull >= 0.98 * pull.max(), gap_mm, -1.0)))
    return Pull(pressure, float(pull.max()), float(shut.s_mm[at]))


@one_blas_thread
def closing(fit: Profile, leaf: Leaf) -> Closing:
    """Force and pressure that close a fit gap, and the pull that stays in the joint.

    Pressures are cut at 50 MPa, more than any wood bears. Places are counted from the leaf's neck end.
    """
    gap = gap_at_stations(fit, leaf)
    if gap.max() <= 1e-6:
        return closed_already(leaf)
    firm = _pull(beam_stiffness(leaf), station_lengths(leaf), gap, leaf)
    yielding = _pull(*yielding_stiffness(leaf), gap, leaf)
    return Closing(leaf.length_mm * leaf.thickness_mm, firm, yielding)


def closed_already(leaf: Leaf) -> Closing:
    """A joint that nothing has to pull shut."""
    nothing = Pull(0.0, 0.0, 0.0)
    return Closing(leaf.length_mm * leaf.thickness_mm, nothing, nothing)


def can_be_clamped(shape: Shape) -> bool:
    """Whether clamps may close a shape at all: a hump, an open end, a wind spring open again at the ends."""
    return shape in ("closed", "hollow", "patches")
