"""The end grain: at which angle the rings stand to the face, along the leaf's width."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from seamlight.grain.endgrain_pith import about_one_pith
from seamlight.grain.endgrain_strip import Strip, cut_strip
from seamlight.grain.reading import EndGrain, Thirds
from seamlight.photo.flat import Rgb

Array = NDArray[np.float64]
Picture = NDArray[np.float32]

# Quarter-sawn from 45, 60 or 75 degrees: published usages differ (a forest service's, a woodwork institute's,
# a retailer's), so it is a setting and nothing here depends on it.
QUARTERED_FROM_DEG = 60.0
EDGE_CALL_DEG = 1.5  # edges nearer alike than this: neither is called
STEP_MM = 2.0
WINDOW_MM = 2.2  # deviation along the width
RIM_MM = 0.35  # of the faces, rough or in shadow, left out
LINE_MM = 0.1  # deviation of the gradient
LEVEL_MM = 6.0
FLATTEST_DEG = (
    69.0  # from upright: a mean along a lean beyond this would run out of the strip's neighbourhood
)
LEAN_STEP_DEG = 1.5
LOOK_DEG = 10.0  # to either side of what the common pith foretells
WIDE_LOOK_DEG = 25.0  # the same where one lean is strong
STRONG = 6.0  # times the power of other leans
CALM = 1.5  # deviation, in places, of the mean that calms what single places say
LEAST_TRUST = 0.8
FLAT_DEG = 25.0  # ring to face; flatter rings a strip as thin as a leaf doesn't tell within 2 degrees
CLEAR = 0.5  # of 1: how far the gradients must agree


def read_end(rgb: Rgb, width_mm: float, seen_from: Literal[1, 2] = 1) -> EndGrain:
    """Read the rings on a picture of a leaf's end.

    Args:
        rgb: the end from outside, the photographed face uppermost (level within some degrees).
        width_mm: the leaf's width at that end; it gives the scale.
        seen_from: which end. End 1 seen from outside, face up, shows the leaf's right edge at the left.

    Raises:
        Mistake: no end in the picture.
    """
    strip = cut_strip(rgb, width_mm)
    x_mm, angle = ring_to_face(strip)
    if seen_from == 1:
        x_mm, angle = (width_mm - x_mm)[::-1], angle[::-1]
    thirds = [_mean(angle[(x_mm >= k * width_mm / 3) & (x_mm < (k + 1) * width_mm / 3)]) for k in range(3)]
    # near-flat places count in their third, where their errors cancel, but none of them stands for itself
    told = np.where(angle >= FLAT_DEG, angle, np.nan)
    return EndGrain(x_mm, told, Thirds(*thirds), _quartered_edge(thirds[0], thirds[2]))


def is_quartered(ring_to_face_deg: float, from_deg: float = QUARTERED_FROM_DEG) -> bool:
    """Whether an angle counts as quarter-sawn, by the shop's own threshold."""
    return ring_to_face_deg >= from_deg


def ring_to_face(strip: Strip) -> tuple[Array, Array]:
    """Places along the strip (mm from its left) and the angle there, 0..90, NaN where unread.

    The lean along which the strip's mean over its thickness keeps most of its figure is that of the rings (a
    Radon transform of a thin strip); marks along the faces cancel there. Rings are nearly circles about one
    pith: the pith that suits all places together says where each place looks for its own lean.
    """
    px = strip.px_per_mm
    count = max(1, int(strip.gray.shape[1] / px / STEP_MM))
    x_mm = (np.arange(count) + 0.5) * strip.gray.shape[1] / px / count
    figure, inner = _figure(strip)
    at = np.clip((x_mm * px).astype(int), 0, figure.shape[1] - 1)
    leans, power = _lean_power(figure, inner, px)
    strength = power[:, at] / np.maximum(np.percentile(power[:, at], 40, axis=0), 1e-6)
    normal, agree = _tensor_normal_deg(figure, inner, px)
    model = about_one_pith(x_mm, leans, np.log(np.maximum(strength, 1e-6)))
    if model is None:
        return x_mm, np.full(count, np.nan)
    off, trust = _own_lean(model, leans, strength)
    # lying rings: the means can't see them, the tensor can
    turned = _fold(normal[at] - model)
    lies = (
        (np.abs(normal[at]) > FLATTEST_DEG - LOOK_DEG)
        & (agree[at] > CLEAR)
        & (np.abs(turned) < WIDE_LOOK_DEG)
    )
    lies &= (trust < STRONG) | (np.abs(model) > FLATTEST_DEG)
    off, trust = np.where(lies, turned, off), np.where(lies, STRONG, trust)
    calm = gaussian_filter1d(off * trust, CALM) / np.maximum(gaussian_filter1d(trust, CALM), 1e-9)
    read = gaussian_filter1d(trust, 2 * CALM) > LEAST_TRUST
    # a ring runs square to its normal; its angle to the face is 90 less the normal's, whichever way it leans
    return x_mm, np.where(read, 90 - np.abs(_fold(model + calm)), np.nan)


def _own_lean(model: Array, leans: Array, strength: Array) -> tuple[Array, Array]:
    """At each place how far the strongest lean near the model's is off it, and how much it counts."""
    reach = np.where(strength.max(axis=0) > STRONG, WIDE_LOOK_DEG, LOOK_DEG)
    near = np.abs(leans[:, None] - model[None, :]) <= reach
    seen = np.where(near, strength, 0.0)
    best = np.clip(np.argmax(seen, axis=0), 1, len(leans) - 2)
    place = np.arange(len(model))
    before, top, after = (strength[best + k, place] for k in (-1, 0, 1))
    shift = np.clip(0.5 * (before - after) / np.minimum(before - 2 * top + after, -1e-9), -0.5, 0.5)
    trust = np.where(near.any(axis=0), np.clip(top - 1, 0, 10), 0.0)
    return leans[best] + shift * LEAN_STEP_DEG - model, trust


def _fold(angle: Array) -> Array:
    """A direction in degrees brought to -90..90."""
    return np.asarray((angle + 90) % 180 - 90)


def _figure(strip: Strip) -> tuple[Picture, Picture]:
    """Lightness without its slow changes, and where it counts."""
    size = (_odd(LEVEL_MM * strip.px_per_mm),) * 2
    inner = _inner(strip)
    level = cv2.blur(strip.gray * inner, size) / np.maximum(cv2.blur(inner, size), 1e-3)
    return np.where(inner > 0, strip.gray - level, 0).astype(np.float32), inner


def _lean_power(figure: Picture, inner: Picture, px: float) -> tuple[Array, Picture]:
    """Leans from upright, and the power that a mean along each keeps at every column (leans, columns)."""
    leans = np.arange(-FLATTEST_DEG, FLATTEST_DEG + LEAN_STEP_DEG / 2, LEAN_STEP_DEG)
    height, width = figure.shape
    middle = (height - 1) / 2
    power = np.empty((len(leans), width), np.float32)
    both = cv2.merge([figure, inner])
    for k, slope in enumerate(np.tan(np.radians(leans))):
        shear = np.array([[1, slope, -slope * middle], [0, 1, 0]], np.float64)
        bent = cv2.warpAffine(both, shear, (width, height), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
        mean = bent.mean(axis=0)
        profile = (mean[:, 0] / np.maximum(mean[:, 1], 0.2) * (mean[:, 1] > 0.2))[None, :]
        # across the rings the profile is drawn out by 1 / cos of the lean
        soft = LINE_MM * px * np.sqrt(1 + slope**2)
        power[k] = _along(_along(profile, soft) ** 2, WINDOW_MM * px)[0]
    return leans, power


def _tensor_normal_deg(figure: Picture, inner: Picture, px: float) -> tuple[Array, Array]:
    """Along the strip: the turn of the rings' normal from level, and how far the gradients agree (0..1)."""
    soft = np.asarray(cv2.GaussianBlur(figure, (0, 0), 2 * LINE_MM * px), np.float32)
    # Scharr's weights hardly prefer a direction
    across, down = cv2.Scharr(soft, cv2.CV_32F, 1, 0), cv2.Scharr(soft, cv2.CV_32F, 0, 1)
    kernel = np.ones((_odd(6 * LINE_MM * px),) * 2, np.uint8)
    clear = cv2.erode(inner, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    xx, yy, xy = (
        _along((part * clear).sum(axis=0)[None, :], WINDOW_MM * px)[0]
        for part in (across * across, down * down, across * down)
    )
    agree = np.hypot(2 * xy, xx - yy) / np.maximum(xx + yy, 1e-9)
    return np.degrees(0.5 * np.arctan2(2 * xy, xx - yy)), agree


def _along(values: Picture, deviation: float) -> Picture:
    size = (_odd(6 * deviation), 1)
    return np.asarray(cv2.GaussianBlur(values.astype(np.float32), size, deviation), np.float32)


def _inner(strip: Strip) -> NDArray[np.float32]:
    rim = _odd(2 * RIM_MM * strip.px_per_mm)
    wood = strip.wood.astype(np.uint8)
    return np.asarray(
        cv2.erode(wood, np.ones((rim, rim), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0),
        np.float32,
    )


def _mean(angles: Array) -> float | None:
    read = angles[np.isfinite(angles)]
    return float(np.mean(read)) if len(read) and len(read) >= 0.3 * len(angles) else None


def _quartered_edge(left: float | None, right: float | None) -> str | None:
    if left is None or right is None or abs(left - right) < EDGE_CALL_DEG:
        return None
    return "left" if left > right else "right"


def _odd(pixels: float) -> int:
    return max(1, 2 * int(pixels / 2) + 1)
