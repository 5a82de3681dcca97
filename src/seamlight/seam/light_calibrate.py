"""From light to millimetres: two known shims, the lamp, and the shape of the line itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from seamlight.mistake import Mistake
from seamlight.seam.light_edge import Edge
from seamlight.seam.light_fit import SHIM_DOUBT, LightFit, end_weights
from seamlight.seam.light_measure import Cut
from seamlight.seam.optics import Sight, off_plane_of, offset_mm
from seamlight.seam.tone_curve import Tone

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Calibration:
    """What turns light into seen width, and seen width into gap."""

    tone: Tone
    scale: float  # true over read width of bare lamp
    edge_glow_px: float  # how much more the wood glows at its edges
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
    found = _found(fit)
    tone, lost, glow = fit.tone(found), fit.lost_mm(found), fit.edge_glow_px(found)
    ends = fit.ends_mm(found)
    if fit.at_odds(found):
        other = LightFit(cut, lamp, (shims_mm[1], shims_mm[0]), sight, edges)
        if not other.at_odds(_found(other)):
            raise Mistake(
                "the light goes with the shims the other way round",
                where=name,
                do="say where the neck end is in the picture, or give the neck's shim first",
            )
        raise Mistake(
            "the ends' light does not go with the shims: not seated on both, or an uneven lamp",
            where=name,
            do="press the joint home on both, or use thicker shims; take the lamp alone too",
        )
    scale, lost, error = _line(ends, shims_mm, lost, lamp is not None)
    placed = replace(sight, off_plane_mm=off_plane_of(lost, sight))
    return Calibration(tone, scale / fit.bright(found) / fit.held(found), glow, placed, error)


def _found(fit: LightFit) -> Floats:
    """The least residuals."""
    found = least_squares(
        fit.residuals, fit.start(), x_scale=fit.scales(), bounds=fit.bounds(), max_nfev=40, ftol=1e-4
    )
    return np.asarray(found.x, dtype=np.float64)


def calibrate_again(
    fit: Calibration, seen_mm: Floats, s_mm: Floats, shims_mm: tuple[float, float], sight: Sight
) -> Calibration:
    """The same for the greatest light of several pictures: less is hidden than in any one of them.

    Args:
        seen_mm: (m,) the combined seen width before the scale. s_mm: (m,) its places.
    """
    length = float(s_mm[-1] + s_mm[0])
    ends = np.array([end_weights(s_mm, seen_mm, at) @ seen_mm for at in (0.0, length)])
    scale, lost, error = _line(ends, shims_mm, offset_mm(sight), True, fit.scale)
    return replace(
        fit, scale=scale, sight=replace(sight, off_plane_mm=off_plane_of(lost, sight)), error_mm=error
    )


def _line(
    ends: Floats, shims: tuple[float, float], lost: float, lamp_known: bool, near: float = 1.0
) -> tuple[float, float, float]:
    """Slope, offset and the error at 0.1 mm of gap = slope x seen + offset, near what the fit had."""
    doubt = np.maximum(SHIM_DOUBT * np.array(shims), 0.0015)
    prior = 0.03 if lamp_known else 0.3
    rows = np.array(
        [[ends[0] / doubt[0], 1 / doubt[0]], [ends[1] / doubt[1], 1 / doubt[1]], [1 / prior, 0.0],
         [0.0, 1 / 0.006]]
    )  # fmt: skip
    right = np.array([shims[0] / doubt[0], shims[1] / doubt[1], near / prior, lost / 0.006])
    scale, offset = np.linalg.lstsq(rows, right, rcond=None)[0]
    cover = np.linalg.inv(rows.T @ rows)
    at = np.array([0.1, 1.0])
    return float(scale), float(offset), float(2 * np.sqrt(at @ cover @ at))
