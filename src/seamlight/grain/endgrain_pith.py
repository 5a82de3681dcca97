"""The pith that the rings of an end go round, found from the leans along the strip."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DISTANCES_MM = np.geomspace(12.0, 2000.0, 24)
TURN_STEP_DEG = 2.0
CAP = 2.5  # of the log of a lean's strength: one bright place does not decide
CLEARLY = 0.6  # by how much the best pith's mean beats the middle one's where rings are told; noise: 0.35


def about_one_pith(x_mm: Array, leans_deg: Array, evidence: Array) -> Array | None:
    """Lean from upright at each place (-90..90) of circles about the pith that the evidence favours.

    Args:
        x_mm: (n,) places along the strip.
        leans_deg: (k,) rising evenly; evidence: (k, n) log of how strong each lean is at each place.

    Returns:
        (n,), or None where no pith is clearly better than others.
    """
    middle = float(x_mm.mean())
    turn = np.radians(np.arange(0.0, 360.0, TURN_STEP_DEG))
    distance = DISTANCES_MM[:, None]
    across = (middle + distance * np.cos(turn)).ravel()
    down = (distance * np.sin(turn)).ravel()
    # a circle about (u, v) crosses the strip at x with dx/dy = v / (x - u)
    off = x_mm[None, :] - across[:, None]
    off = np.where(np.abs(off) < 1e-6, 1e-6, off)
    lean = np.degrees(np.arctan(down[:, None] / off))
    step = leans_deg[1] - leans_deg[0]
    index = np.rint((lean - leans_deg[0]) / step).astype(int)
    inside = (index >= 0) & (index < len(leans_deg))
    seen = np.clip(evidence, -CAP, CAP)
    # a lean beyond those looked at is neither for nor against
    unseen = np.median(seen)
    place = np.arange(len(x_mm))[None, :]
    votes = np.where(inside, seen[np.clip(index, 0, len(leans_deg) - 1), place], unseen)
    score = votes.mean(axis=1)
    best = int(np.argmax(score))
    if score[best] - float(np.median(score)) < CLEARLY:
        return None
    return np.asarray(lean[best])
