"""From light to millimetres: two known shims, the lamp, and the shape of the line itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from seamlight.mistake import Mistake
from seamlight.seam.light_edge import Edge
from seamlight.seam.light_fit import SHIM_DOUBT, LightFit
from seamlight.seam.light_measure import Cut
from seamlight.seam.optics import Sight, off_plane_of, offset_mm
from seamlight.seam.tone_curve import Tone

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Calibration:
    """What turns light into seen width, and seen width into gap."""

    tone: Tone
    scale: float  # true over read width of bare lamp
    glow_mm: float  # seen width that is the glow of the edges
    sight: Sight
    error_mm: float  # two standard errors at a gap of 0.1 mm


def calibrate(
    cut: Cut,
    lamp: Floats | None,
    shims_mm: tuple[float, float],
    sight: Sight,
    name: str,
    edges: Sequence[Edge] = (),
) -> Calibration:
    """Fit the phone's curve, the scale and the camera's place off the joint's plane.

    Args:
        lamp: (n,) sRGB light of the bare lamp along the joint; None where it is not known, and taken as even.
        shims_mm: the gaps at s = 0 and s = length.
        edges: the leaves' ends against the lamp, where they are seen.

    Raises:
        Mistake: the ends' light does not go with the shims.
    """
    fit = LightFit(cut, lamp, shims_mm, sight, edges)
    lower, upper = fit.bounds()
    found = least_squares(
        fit.residuals, fit.start(), x_scale=fit.scales(), bounds=(lower, upper), max_nfev=40
    )
    tone, lost = fit.tone(found.x), float(found.x[-1])
    ends = fit.ends_mm(found.x)
    scale, lost, error = _line(ends, shims_mm, lost, lamp is not None)
    off = np.abs(scale * ends + lost - np.array(shims_mm))
    if np.any(off > np.maximum(0.012, 0.15 * np.array(shims_mm))):
        end = "neck" if off[0] > off[1] else "tail"
        raise Mistake(
            f"the light at the {end} end does not go with its shim: not seated on both shims",
            where=name,
            do="press the joint home on both, or use thicker shims if a hump holds it up",
        )
    placed = replace(sight, off_plane_mm=off_plane_of(lost, sight))
    return Calibration(tone, scale / fit.bright(found.x), max(0.0, offset_mm(sight) - lost), placed, error)


def _line(
    ends: Floats, shims: tuple[float, float], lost: float, lamp_known: bool
) -> tuple[float, float, float]:
    """Slope, offset and the error at 0.1 mm of gap = slope x seen + offset, near what the fit had."""
    doubt = np.maximum(SHIM_DOUBT * np.array(shims), 0.0015)
    prior = 0.03 if lamp_known else 0.3
    rows = np.array(
        [[ends[0] / doubt[0], 1 / doubt[0]], [ends[1] / doubt[1], 1 / doubt[1]], [1 / prior, 0.0],
         [0.0, 1 / 0.006]]
    )  # fmt: skip
    right = np.array([shims[0] / doubt[0], shims[1] / doubt[1], 1 / prior, lost / 0.006])
    scale, offset = np.linalg.lstsq(rows, right, rcond=None)[0]
    cover = np.linalg.inv(rows.T @ rows)
    at = np.array([0.1, 1.0])
    return float(scale), float(offset), float(2 * np.sqrt(at @ cover @ at))
