"""The leaf's edge to a part of a pixel: where, square to a rough contour, bench turns to wood.

Where the phone looks at the leaf aslant it also sees the leaf's side, a strip between face and bench about as
wide as the leaf is thick times the slope. The edge wanted is that of the face, so the strip's width is
foretold from the camera and looked for.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, median_filter

from seamlight.photo.bench import NOT_BENCH, Ground, log_colour
from seamlight.photo.flat import Points, Rgb
from seamlight.photo.ring import outward_normals, spaced, with_corners

Array = NDArray[np.float64]
Array32 = NDArray[np.float32]

# How wide the leaf's side shows beyond its face, px: (n, 2) ring px, (n, 2) outward normals -> (n,).
SideWidth = Callable[[Points, Points], Array]

_STEP_PX = 0.5
_INSIDE_PX = 4.0  # of a profile's inner end: surely wood
_NEIGHBOURS = 31
_TINT_BLUR_PX = 2.3
_SHARE_OF_WOOD = 0.42  # of its distance from the bench: the rings of a saved picture's tint stay below it
_SUM = np.array([[1.0, 1, 1]])
_ALONG = cv2.getGaussianKernel(5, 0.8, cv2.CV_32F)
_SLOPE = gaussian_filter1d((np.arange(13) == 6).astype(np.float32), 1.6, order=1, mode="constant")


def refine(
    rgb: Rgb,
    ring: Points,
    ground: Ground,
    reach_px: float,
    *,
    side: SideWidth | None = None,
    step_px: float = 4.0,
) -> Points:
    """The ring moved onto the edge of the wood's face.

    Args:
        rgb: the photograph.
        ring: (n, 2) px, within `reach_px` of the outer edge of what is not bench.
        ground: the bench.
        reach_px: how far to look to either side.
        side: how wide the leaf's side shows; None where nothing is known of the camera.
        step_px: spacing of the points that come back.
    """
    for turn, reach in enumerate((reach_px, max(reach_px / 2, 4.0))):
        ring = spaced(ring, step_px if turn else 1.5 * step_px)
        normal = outward_normals(ring, 1.5)
        width = np.zeros(len(ring)) if side is None else side(ring, normal)
        past = np.zeros(len(ring)) if turn == 0 else width  # by now the ring lies on the face's edge
        offset = _offsets(rgb, ring + past[:, None] * normal, normal, ground, reach, width)
        ring = ring + (offset + past)[:, None] * normal
    return with_corners(ring)


def refine_hole(rgb: Rgb, ring: Points, reach_px: float, step_px: float = 2.0) -> Points:
    """The ring of a through hole moved to where the light changes steepest (J. Canny, 1986)."""
    ring = spaced(ring, step_px)
    normal = outward_normals(ring, 1.5)
    across = np.arange(-reach_px, reach_px + _STEP_PX, _STEP_PX)
    steep = _steepness(_profiles(rgb, ring, normal, across))
    steep *= np.exp(-0.5 * (across / (0.6 * reach_px)) ** 2)
    offset = median_filter(_peak(steep, across), 5, mode="wrap")
    return np.asarray(ring + offset[:, None] * normal)


def _offsets(rgb: Rgb, ring: Points, normal: Points, ground: Ground, reach: float, width: Array) -> Array:
    """(n,) how far outward from the ring the face's edge lies, made steady along the ring."""
    most = float(width.max(initial=0.0))
    across = np.arange(-reach - 1.3 * most - 3, reach + 3, _STEP_PX)  # negative inside
    coded = _profiles(rgb, ring, normal, across)
    outer = _outer_edge(coded, ring, normal, across, ground, rgb.shape, reach)
    steep = _steepness(coded)
    # Tint is kept coarser than light, so the light tells the edge within the tint's own blur.
    # Where a side shows, the face's own edge lies its width farther in: not to be taken for the outer one.
    inward = np.where(width > 1.0, np.minimum(0.9 + 0.4 * width, _TINT_BLUR_PX), _TINT_BLUR_PX)
    at_outer = _peak(np.where(_within(across, outer - inward, outer + 1.5), steep, 0.0), across)
    slack = 0.3 * width + 0.5
    inner_window = _within(across, at_outer - width - slack, at_outer - width + slack)
    at_inner = _peak(np.where(inner_window, steep, 0.0), across)
    strong = np.max(np.where(inner_window, steep, 0.0), axis=1) > 0.25 * steep.max(axis=1)
    at_inner = np.where(strong, at_inner, at_outer - width)
    offset = np.where(width > 1.5, at_inner, at_outer - np.where(width > 0.3, 0.5 * width, 0.0))
    steady = median_filter(offset, 7, mode="wrap")
    found, held = ring + offset[:, None] * normal, ring + steady[:, None] * normal
    between = (np.roll(found, 1, axis=0) + np.roll(found, -1, axis=0)) / 2
    # A point that goes its own way is noise, unless the ring has a bump there and the point mends it.
    strays = np.linalg.norm(held - between, axis=1) < np.linalg.norm(found - between, axis=1)
    return np.asarray(np.where(strays & (np.abs(offset - steady) > 1.0), steady, offset), np.float64)


def _outer_edge(
    coded: NDArray[np.uint8],
    ring: Points,
    normal: Points,
    across: Array,
    ground: Ground,
    shape: tuple[int, ...],
    reach: float,
) -> Array:
    """(n,) where, coming from outside, the bench ends: the last crossing into what is not bench."""
    # The light hardly changes along a profile, so the bench is that of its middle.
    x, y = (ring / (shape[1], shape[0])).astype(np.float32).T
    smooth = np.asarray(cv2.GaussianBlur(log_colour(coded), (0, 0), sigmaX=1.0, sigmaY=1.0), np.float32)
    far = ground.far_at(smooth, x, y)
    leaf = (far > _threshold(far, across)[:, None]) & (np.abs(across) <= reach + 2.5)[None]
    last = leaf.shape[1] - 1 - np.argmax(leaf[:, ::-1], axis=1)
    found = np.where(leaf.any(axis=1), across[last], 0.0)
    return np.asarray(median_filter(found, 5, mode="wrap"), np.float64)


def _threshold(far: Array32, across: Array) -> Array32:
    """(n,) how far from the bench counts as leaf: a share of how far the wood is, well inside the ring."""
    wood = np.median(far[:, across < across[0] + _INSIDE_PX], axis=1)
    around = median_filter(wood, _NEIGHBOURS, mode="wrap")
    return np.asarray(np.maximum(_SHARE_OF_WOOD * around, NOT_BENCH), np.float32)


def _within(across: Array, low: Array, high: Array) -> NDArray[np.bool_]:
    return (across[None] >= low[:, None]) & (across[None] <= high[:, None])


def _steepness(coded: NDArray[np.uint8]) -> Array32:
    """(n, samples) how fast the light changes along each profile, all channels together."""
    slope = cv2.sepFilter2D(coded, cv2.CV_32F, _SLOPE, _ALONG, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(np.sqrt(cv2.transform(cv2.multiply(slope, slope), _SUM)), np.float32)


def _peak(steep: Array32, across: Array) -> Array:
    """(n,) where each row is greatest, to a part of a step by a parabola."""
    peak = np.argmax(steep, axis=1)
    index = np.arange(len(steep))
    before, at, after = (steep[index, np.clip(peak + shift, 0, len(across) - 1)] for shift in (-1, 0, 1))
    bend = before - 2 * at + after
    inner = (before > 0) & (after > 0) & (bend < -1e-12)
    part = np.where(inner, 0.5 * (before - after) / np.where(inner, bend, 1.0), 0.0)
    return np.asarray(across[peak] + _STEP_PX * np.clip(part, -0.5, 0.5), np.float64)


def _profiles(rgb: Rgb, ring: Points, normal: Points, across: Array) -> NDArray[np.uint8]:
    """(n, samples, 3) colour along the normals."""
    x, y = (
        (ring[:, axis, None] - 0.5 + across * normal[:, axis, None]).astype(np.float32) for axis in (0, 1)
    )
    found = cv2.remap(rgb, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found, np.uint8)
