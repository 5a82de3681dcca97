"""Small through holes, such as worms make: spots inside the leaf where the bench shows through.

The picture that the leaf is cut out in is too coarse for them. Where something in it comes a little nearer to
the bench's colour than the wood around it does, the photograph itself is looked at.

A spot counts only where it has the bench's own tint, as lit or in shadow, and is shut in by wood. Where the
wood itself is like the bench, a hole cannot be told from a knot or a dark line, and none is claimed.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from seamlight.photo.bench import NOT_BENCH, Array32, Ground, log_colour
from seamlight.photo.edge import SideWidth, refine_hole
from seamlight.photo.flat import Mask, Points, Rgb

_LEAST_PART = 2.5e-5  # of the leaf's area: about 2 mm in a leaf of 560 x 215
_MOST_PART = 4e-4  # 8 mm: larger ones are found in the coarser picture
_LIKE_BENCH = 2.5  # standard deviations
_DEEP_SHADOW = 0.6  # little light reaches the bottom of a hole; natural log, standard deviation
_ALIKE = 0.01  # of the leaf this near to the bench's colour: wood and bench are alike
_DIP = 0.8  # of the distance of the wood around
_NEIGHBOURHOOD_PX = 15
_MOST_SPOTS = 60
_SLIM = 2.2
_RIM_PX = 3.0
_SHUT_IN = 0.9  # of the rim is wood
_LEAST_SEEN_PX = 12  # of the bench
_CROSS = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))


def small_holes(
    rgb: Rgb,
    ground: Ground,
    leaf: Mask,
    colour: Array32,
    origin: Points,
    to_photo: Points,
    side: SideWidth | None = None,
) -> list[Points]:
    """Rings (n, 2) px of the small through holes.

    Args:
        rgb: the photograph.
        ground: the bench.
        leaf: (h, w) the leaf in a coarser picture of a part of the photograph.
        colour: (h, w, 3) log colour of that.
        origin: (2,) px where that part begins.
        to_photo: (2,) px of the photograph to a px of the coarser picture.
        side: how wide the leaf's side shows beside its face; None where nothing is known of the camera.
    """
    deep = Ground(tuple(replace(bench, shadow=_DEEP_SHADOW) for bench in ground.benches))
    size = np.array([rgb.shape[1], rgb.shape[0]], np.float64)
    (left, top), (right, bottom) = origin / size, (origin + to_photo * leaf.shape[::-1]) / size
    far = deep.far(colour, (left, top, right, bottom))
    inner = cv2.erode(leaf.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    if not inner.any() or float(np.mean(far[inner] < NOT_BENCH)) > _ALIKE:
        return []
    area_px = float(leaf.sum()) * float(np.prod(to_photo))
    rings: list[Points] = []
    for spot in _spots(far, inner):
        at = (spot + 0.5) * to_photo + origin
        if any(_distance(ring, at) < 2 * _RIM_PX for ring in rings):
            continue
        ring = _ring_at(rgb, deep, at, area_px, _drift(at, side))
        if ring is not None:
            rings.append(refine_hole(rgb, ring, _RIM_PX, 1.0))
    return rings


def _distance(ring: Points, at: Points) -> float:
    """How far a place lies outside a ring; below 0 inside."""
    return -float(cv2.pointPolygonTest(ring.astype(np.float32), (float(at[0]), float(at[1])), True))


def _drift(at: Points, side: SideWidth | None) -> Points:
    """(2,) px from a place on the face to the place below it on the bench."""
    if side is None:
        return np.zeros(2)
    right, left, down, up = side(np.tile(at, (4, 1)), np.array([[1.0, 0], [-1, 0], [0, 1], [0, -1]]))
    return np.array([right - left, down - up])


def _spots(far: Array32, inner: Mask) -> Points:
    """(n, 2) places nearer to the bench's colour than all around, the clearest first."""
    size = (_NEIGHBOURHOOD_PX, _NEIGHBOURHOOD_PX)
    dip = far / np.maximum(cv2.blur(far, size), 1e-3)
    lowest = cv2.erode(far, np.ones((3, 3), np.uint8))
    rows, columns = np.nonzero(inner & (far <= lowest) & (dip < _DIP))
    order = np.argsort(dip[rows, columns])[:_MOST_SPOTS]
    return np.stack([columns[order], rows[order]], axis=1).astype(np.float64)


def _ring_at(rgb: Rgb, ground: Ground, at: Points, area_px: float, drift: Points) -> Points | None:
    """The rough ring (n, 2) of a hole in the photograph; None where what lies there is no hole."""
    reach = int(np.sqrt(_MOST_PART * area_px / np.pi) + 2 * _RIM_PX)
    low = np.maximum(np.round(at).astype(int) - reach, 0)
    high = np.minimum(np.round(at).astype(int) + reach + 1, (rgb.shape[1], rgb.shape[0]))
    size = np.array([rgb.shape[1], rgb.shape[0]], np.float64)
    (left, top), (right, bottom) = low / size, high / size
    part = cv2.GaussianBlur(rgb[low[1] : high[1], low[0] : high[0]], (0, 0), 0.8)
    far = ground.far(log_colour(np.asarray(part, np.uint8)), (left, top, right, bottom))
    bench = cv2.morphologyEx((far < _LIKE_BENCH).astype(np.uint8), cv2.MORPH_OPEN, _CROSS)
    count, labels, stats, middles = cv2.connectedComponentsWithStats(bench, connectivity=4)
    if count < 2:
        return None
    nearest = 1 + int(np.argmin(np.linalg.norm(middles[1:] + 0.5 + low - at, axis=1)))
    if not _LEAST_SEEN_PX < stats[nearest, cv2.CC_STAT_AREA] < _MOST_PART * area_px:
        return None
    seen = labels == nearest
    if _at_border(seen) or not _is_shut_in(seen, far):
        return None
    seen = _half_way(seen, far)
    (contour,) = cv2.findContours(seen.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]
    points = contour.reshape(-1, 2).astype(np.float64)
    # Where the bench shows, the line of sight passes within both the upper rim and the lower, which stands
    # `drift` off in the picture: what is seen, less the drift, lies within the upper rim too.
    whole = cv2.convexHull(np.concatenate([points, points - drift]).astype(np.float32))
    _, sides, _ = cv2.minAreaRect(whole)
    size_px = cv2.contourArea(whole) + cv2.arcLength(whole, True) / 2  # whole pixels, not their middles
    if size_px < _LEAST_PART * area_px or max(sides) + 1 > _SLIM * (min(sides) + 1):
        return None
    return np.asarray(whole.reshape(-1, 2) + 0.5 + low, np.float64)


def _at_border(mask: Mask) -> bool:
    return bool(mask[0].any() or mask[-1].any() or mask[:, 0].any() or mask[:, -1].any())


def _half_way(seen: Mask, far: Array32) -> Mask:
    """What is seen, grown through the blur of its rim to half-way between bench and wood."""
    wood = float(np.median(far[_around(seen)]))
    _, labels = cv2.connectedComponents((far < 0.5 * wood).astype(np.uint8), connectivity=4)
    grown = cv2.morphologyEx((labels == np.median(labels[seen])).astype(np.uint8), cv2.MORPH_OPEN, _CROSS) > 0
    near = cv2.dilate(seen.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    return np.asarray(seen | (grown & near))


def _around(seen: Mask) -> Mask:
    """A rim about what is seen, clear of its blur."""
    inked = seen.astype(np.uint8)
    wide = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * int(_RIM_PX) + 3, 2 * int(_RIM_PX) + 3))
    close = cv2.dilate(inked, np.ones((5, 5), np.uint8)) > 0
    return np.asarray((cv2.dilate(inked, wide) > 0) & ~close)


def _is_shut_in(seen: Mask, far: Array32) -> bool:
    """Whether what lies around is no bench."""
    around = _around(seen)
    return bool(around.any()) and float(np.mean(far[around] > NOT_BENCH)) >= _SHUT_IN
