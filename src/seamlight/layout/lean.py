"""How far ring lines move between two sawn faces: the only bend that leaves of one log may show.

Seen on the end grain, rings are circles about the pith. A ring that crosses face A at distance x from the
place square under the pith crosses a face lying deeper by k at x', with x'^2 + (h + k)^2 = x^2 + h^2 where h
is the pith's distance from face A. So x'^2 = x^2 - q with q = 2 h k + k^2: two figures, the pith's place and
q, say it all. Far from the pith it is the rule of thumb: kerf times the cotangent of the ring-to-face angle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.photo.flat import Points


@dataclass(frozen=True)
class Lean:
    """The pith's place across (mm from the leaf's middle), and how far the shift spreads over the width (mm).

    The spread is q in a handier measure: about the standard deviation of the shift across the leaf.
    """

    pith_mm: float
    spread_mm: float


STRAIGHT = Lean(-1000.0, 0.0)
_BLUNT_MM = 20.0  # the shift has no bound at the pith; nearer than this it says nothing of q
_SAMPLES = np.linspace(-1.0, 1.0, 33)


def lean_shift(lean: Lean, x_mm: Points, width_mm: float, askew_mm: Points | float = 0.0) -> Points:
    """How far ring lines at x (mm from the leaf's middle) have moved across on B, less the leaf's mean.

    `askew_mm` moves the pith line across, where it runs askew to the leaf. Any shapes that go together.

    >>> lean_shift(Lean(-150.0, 0.5), np.array([-100.0, 100.0]), 200.0).round(2)  # most near the pith
    array([-1.72,  0.59])
    """
    if lean.spread_mm == 0.0:
        return np.zeros(np.broadcast_shapes(np.shape(x_mm), np.shape(askew_mm)))
    samples = _SAMPLES * width_mm / 2 - lean.pith_mm
    unit = float(np.std(samples / (2 * (samples**2 + _BLUNT_MM**2))))
    q = lean.spread_mm / unit
    return moved_across(x_mm - lean.pith_mm - askew_mm, q) - float(np.mean(moved_across(samples, q)))


def moved_across(from_pith_mm: Points, q_mm2: float) -> Points:
    """x' - x for places counted from square under the pith; a ring that B doesn't reach stays at the pith.

    >>> moved_across(np.array([100.0]), 20.0).round(3)  # q / (2 x), toward the pith
    array([-0.1])
    """
    there = np.sqrt(np.maximum(from_pith_mm * from_pith_mm - q_mm2, 0.0))
    return np.asarray(np.copysign(there, from_pith_mm) - from_pith_mm)


def leans() -> list[Lean]:
    """Leans to start from, straight wood first; the pith under the leaf or beside it, faces to 6 mm apart."""
    piths = (-400.0, -250.0, -180.0, -140.0, -110.0, -90.0, -70.0, -50.0, -30.0, -15.0)
    places = [*piths, 0.0, *(-pith for pith in piths)]
    spreads = (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.4, 2.0, 3.0)
    return [
        STRAIGHT,
        *(Lean(pith, sign * spread) for pith in places for spread in spreads for sign in (1, -1)),
    ]
