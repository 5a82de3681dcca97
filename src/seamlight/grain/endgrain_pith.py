"""The pith that the rings of an end go round, found from the leans along the strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DISTANCES_MM = np.geomspace(12.0, 2000.0, 24)
TURN_STEP_DEG = 2.0
CAP = 2.5  # of the log of a lean's strength: one bright place does not decide
ROUNDS = 6
USUALLY_OFF_DEG = 2.0  # from circles about one pith
ALONG_FACE_DEG = 6.0  # the saw's scratches lie so along the face: they say nothing for or against rings


@dataclass(frozen=True)
class Pith:
    """Where the pith stands, mm: u along the strip, v below its middle."""

    u_mm: float
    v_mm: float
    clearly: float  # by how much its evidence beats the middle pith's

    def normal_deg(self, x_mm: Array) -> Array:
        """Turn of a ring's outward normal from the strip's x at each place."""
        return np.asarray(np.degrees(np.arctan2(-self.v_mm, x_mm - self.u_mm)))

    def radius_mm(self, x_mm: Array) -> Array:
        """Distance from the pith to each place of the strip's middle."""
        return np.asarray(np.hypot(x_mm - self.u_mm, self.v_mm))


def common_pith(x_mm: Array, normal_deg: Array, evidence: Array) -> Pith:
    """The pith whose circles the evidence favours.

    Args:
        x_mm: (n,) places along the strip.
        normal_deg: (k,) turns of the normal from the strip's x, evenly over half a turn from -90 on.
        evidence: (n, k) log of how strong each is at each place.
    """
    middle = float(x_mm.mean())
    turn = np.radians(np.arange(0.0, 360.0, TURN_STEP_DEG))
    distance = DISTANCES_MM[:, None]
    across = (middle + distance * np.cos(turn)).ravel()
    down = (distance * np.sin(turn)).ravel()
    # the normal of a circle about (u, v) at (x, 0)
    normal = np.degrees(np.arctan2(-down[:, None], x_mm[None, :] - across[:, None]))
    step = normal_deg[1] - normal_deg[0]
    index = np.rint((normal - normal_deg[0]) / step).astype(int) % len(normal_deg)
    seen = np.clip(evidence, -CAP, CAP)
    seen = np.where(np.abs(normal_deg)[None, :] > 90 - ALONG_FACE_DEG, np.median(seen), seen)
    score = seen[np.arange(len(x_mm))[None, :], index].mean(axis=1)
    best = int(np.argmax(score))
    clearly = float(score[best] - np.median(score))
    return Pith(float(across[best]), float(down[best]), clearly)


def nearest_pith(x_mm: Array, normal_deg: Array, clearly: float) -> Pith:
    """The pith that rings with these normals (n,) at places x_mm (n,) come nearest to going round.

    The line along a normal runs through the pith: (x - u) sin a + v cos a = 0, by least squares of the turn
    that each place would still need, places far off counting less.
    """
    turn = np.radians(normal_deg)
    sides = np.column_stack([np.sin(turn), -np.cos(turn)])
    weight = np.ones(len(x_mm))
    for _ in range(ROUNDS):
        (u, v), *_ = np.linalg.lstsq(sides * weight[:, None], x_mm * np.sin(turn) * weight, rcond=None)
        distance = np.maximum(np.hypot(x_mm - u, v), 1.0)
        needs = np.degrees(np.arcsin(np.clip((sides @ (u, v) - x_mm * np.sin(turn)) / distance, -1, 1)))
        weight = 1 / (distance * np.sqrt(1 + (needs / USUALLY_OFF_DEG) ** 2))
    return Pith(float(u), float(v), clearly)
