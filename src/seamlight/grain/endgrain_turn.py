"""How far the rings are turned from what their common pith foretells, place by place along the end.

Every place has its say about each turn; neighbours are turned nearly alike. The mean over all ways the turn
may take along the strip, each weighed by how likely it is, is found by passing once along the strip and once
back (forward-backward algorithm; Rabiner 1989, A Tutorial on Hidden Markov Models).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

USUAL_DEG = 8.0  # deviation of the turn anywhere
CHANGE_DEG_PER_MM = 0.15  # deviation of its change from place to place
APART_MM2 = 0.15  # of picture in which lightness is one sample


def likely_turns(share: Array, turns_deg: Array, step_mm: float, seen_mm2: float) -> tuple[Array, Array]:
    """The mean turn at each place and its deviation, both (n,) degrees.

    Args:
        share: (n, k) of the figure's power that is explained with each of turns_deg (k,).
        step_mm: from place to place. seen_mm2: picture that speaks for a place.
    """
    # a figure in white noise: log likelihood -m / 2 log(1 - share) with m samples
    says = -0.5 * seen_mm2 / APART_MM2 * np.log1p(-np.clip(share, 0.0, 0.98))
    # neighbouring places look at much the same picture
    says = says * min(1.0, step_mm / 7.0)
    likely = np.exp(says - says.max(axis=1, keepdims=True))
    change = CHANGE_DEG_PER_MM * step_mm
    goes_on = np.exp(-0.5 * ((turns_deg[:, None] - turns_deg[None, :]) / change) ** 2)
    goes_on /= goes_on.sum(axis=1, keepdims=True)
    count = len(share)
    forth, back = np.empty_like(likely), np.ones_like(likely)
    before = np.exp(-0.5 * (turns_deg / USUAL_DEG) ** 2)
    for k in range(count):
        forth[k] = likely[k] * (before if k == 0 else forth[k - 1] @ goes_on)
        forth[k] /= forth[k].sum()
    for k in range(count - 2, -1, -1):
        back[k] = goes_on @ (likely[k + 1] * back[k + 1])
        back[k] /= back[k].sum()
    chance = forth * back
    chance /= chance.sum(axis=1, keepdims=True)
    mean = chance @ turns_deg
    spread = np.sqrt(np.maximum(chance @ turns_deg**2 - mean**2, 0))
    return mean + _between(share, turns_deg, mean, spread), np.asarray(spread)


def _between(share: Array, turns_deg: Array, mean: Array, spread: Array) -> Array:
    """What a sharp peak lies off the turn looked at, from the parabola through three; less where in doubt."""
    step = turns_deg[1] - turns_deg[0]
    best = np.clip(np.rint((mean - turns_deg[0]) / step).astype(int), 1, len(turns_deg) - 2)
    place = np.arange(len(share))
    before, top, after = (share[place, best + k] for k in (-1, 0, 1))
    bend = before - 2 * top + after
    shift = np.where(bend < 0, 0.5 * (before - after) / np.minimum(bend, -1e-9), 0.0)
    peak = turns_deg[best] + np.clip(shift, -0.5, 0.5) * step
    sharp = np.clip(1 - 2 * spread / step, 0, 1)
    return np.asarray(sharp * (peak - mean))
