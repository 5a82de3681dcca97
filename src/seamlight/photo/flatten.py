"""From a silhouette in the photograph to the flat leaf: which way is down, its frame, its flat picture."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.cut import Silhouette
from seamlight.photo.flat import FlatLeaf, Mask, Points, Rgb, Scale
from seamlight.photo.planes import LeafMap, Plane, px_per_mm_at
from seamlight.photo.ring import spaced, without_splinters
from seamlight.photo.sides import Sides, bisector, leaning, sides_of, turned

Array = NDArray[np.float64]

MOST_PX_PER_MM = 6.0
_REACH = 0.002  # of the length: departure of a sawn edge from straight that still counts as the edge
_SPLINTER = 0.0008  # of the length: a short bump higher than this is no edge
_SIMPLIFY_MM = 0.05
_MAP_STEP_PX = 16
_BAND = 8  # steps laid flat at a time, so that the map stays in the processor's cache


@dataclass(frozen=True, eq=False)
class LeafFrame:
    """The leaf frame over a plane, and the leaf's measures in it."""

    map: LeafMap
    ring_mm: Points  # (n, 2) silhouette in the leaf frame
    sides: Sides  # in the leaf frame
    length_mm: float
    width_mm: float


def quarter_turns(silhouette: Silhouette, turn: int | None) -> int:
    """Quarter turns clockwise that bring the grain to run down the picture; `turn` where a person says it.

    Sawn leaves are longer along the grain than across; where the picture cuts the leaf off at two opposite
    sides, the grain runs from one to the other.
    """
    if turn is not None:
        return turn % 4
    if silhouette.grain_across is not None:
        return int(silhouette.grain_across)
    top, right, bottom, left = silhouette.cut_by
    if (top and bottom) != (left and right):
        return int(left and right)
    (_, _), (width, height), angle = cv2.minAreaRect(silhouette.ring_px.astype(np.float32))
    # OpenCV's angle is that of the side it calls width, from +x toward +y.
    along = np.radians(angle + (0.0 if width >= height else 90.0))
    return int(abs(np.cos(along)) > abs(np.sin(along)))


def lay_frame(plane: Plane, silhouette: Silhouette, turns: int, size_px: tuple[int, int]) -> LeafFrame:
    """The leaf frame of the contracts: y down the bisector of the long edges, origin at the bounding box."""
    ring = plane.to_mm(silhouette.ring_px)
    middle_px = silhouette.ring_px.mean(axis=0, keepdims=True)
    # The picture's own direction that points down after the quarter turns clockwise: down, right, up, left.
    down_px = np.array([[0.0, 1], [1, 0], [0, -1], [-1, 0]])[turns]
    step = plane.to_mm(np.concatenate([middle_px - 5 * down_px, middle_px + 5 * down_px]))
    down = (step[1] - step[0]) / np.linalg.norm(step[1] - step[0])
    lean = float(np.arctan2(down[0], down[1]))
    border_px = _on_border(silhouette, size_px)
    if not silhouette.all_wood:
        lean += _long_axis(turned(ring, lean), border_px)
        for _ in range(2):
            tilt = bisector(_sides(turned(ring, lean), border_px, ends=False))
            lean += tilt if tilt is not None else 0.0
    turn = leaning(lean)
    placed = without_splinters(ring @ turn.T, 0, _SPLINTER * float(np.ptp(ring @ turn.T[:, 1])))
    origin = placed.min(axis=0)
    placed = placed - origin
    width, length = np.ptp(placed, axis=0)
    return LeafFrame(
        LeafMap(plane, turn, origin), placed, _sides(placed, border_px), float(length), float(width)
    )


def _sides(ring: Points, on_border: NDArray[np.bool_], *, ends: bool = True) -> Sides:
    return sides_of(ring, on_border, _REACH * float(np.ptp(ring[:, 1])), ends=ends)


def _on_border(silhouette: Silhouette, size_px: tuple[int, int]) -> NDArray[np.bool_]:
    """(n,) which points of the ring are the picture's border."""
    x, y = silhouette.ring_px.T
    near = 3.0
    return np.asarray((x < near) | (y < near) | (x > size_px[0] - near) | (y > size_px[1] - near))


def _long_axis(ring: Points, on_border: NDArray[np.bool_]) -> float:
    """Lean of the leaf's own edges against y, within 45 degrees of it, rad."""
    edges = ring[~on_border]
    if len(edges) < 10 or on_border.any():
        steps = np.roll(ring, -3, axis=0) - ring
        steps = steps[~(on_border | np.roll(on_border, -3))]
        if len(steps) < 10:
            return 0.0
        # Directions four times over, so that all four sides agree on one.
        angle = np.arctan2(steps[:, 0], steps[:, 1])
        weight = np.linalg.norm(steps, axis=1)
        return float(np.arctan2((weight * np.sin(4 * angle)).sum(), (weight * np.cos(4 * angle)).sum()) / 4)
    box = cv2.boxPoints(cv2.minAreaRect(ring.astype(np.float32)))
    side = max(np.diff(box, axis=0), key=lambda one: float(np.hypot(*one)))
    lean = float(np.arctan2(side[0], side[1]))
    quarter = np.pi / 2
    return lean - quarter * round(lean / quarter)


def flat_leaf(
    rgb: Rgb, frame: LeafFrame, holes_px: tuple[Points, ...], scale: Scale, warnings: tuple[str, ...]
) -> FlatLeaf:
    """The photograph laid flat in the leaf frame."""
    px_per_mm = min(MOST_PX_PER_MM, scale.px_per_mm)
    size = max(int(np.ceil(frame.width_mm * px_per_mm)), 1), max(int(np.ceil(frame.length_mm * px_per_mm)), 1)
    flat = resampled(rgb, frame.map.to_photo, size, px_per_mm)
    outline = _simplified(frame.ring_mm)
    holes = tuple(frame.map.to_leaf(hole) for hole in holes_px)
    left, right = frame.sides.left, frame.sides.right
    if left is not None and right is not None:
        end1, end2 = (right.across(y) - left.across(y) for y in (0.0, frame.length_mm))
    else:
        end1, end2 = (_width_near(frame.ring_mm, y, frame.length_mm) for y in (0.0, frame.length_mm))
    return FlatLeaf(
        rgb=flat,
        wood=_wood(outline, holes, size, px_per_mm),
        px_per_mm=px_per_mm,
        outline_mm=outline,
        holes_mm=holes,
        length_mm=frame.length_mm,
        width_end1_mm=float(end1),
        width_end2_mm=float(end2),
        scale=scale,
        to_picture=frame.map,
        warnings=warnings,
    )


def resampled(rgb: Rgb, to_photo: Callable[[Points], Points], size: tuple[int, int], px_per_mm: float) -> Rgb:
    """The photograph as seen through a map from flat mm to px, `size` (width, height) px of it.

    The map is exact every few pixels and linear between, which departs by less than 0.01 px; it is then
    rounded to 1/32 px.
    """
    step = _MAP_STEP_PX
    across, down = (int(np.ceil(side / step)) + 2 for side in size)
    # An enlargement by `step` puts grid point k at pixel (k + 1/2) step - 1/2; the first block is cut off.
    x, y = np.meshgrid((np.arange(across) - 0.5) * step, (np.arange(down) - 0.5) * step)
    seen = to_photo(np.stack([x.ravel(), y.ravel()], axis=1) / px_per_mm) - 0.5
    low = np.maximum(np.floor(seen.min(axis=0)).astype(int) - 2, 0)
    high = np.ceil(seen.max(axis=0)).astype(int) + 3
    grid = (seen - low).astype(np.float32).reshape(down, across, 2)
    part = rgb[low[1] : high[1], low[0] : high[0]]
    flat = np.empty((size[1], size[0], 3), np.uint8)
    for top in range(0, size[1], _BAND * step):
        band = flat[top : top + _BAND * step]
        x_at, y_at = (_finer(axis, top // step, band.shape[:2]) for axis in cv2.split(grid))
        # Fixed-point maps, in 1/32 px, are what OpenCV is fastest with.
        whole, thirty_seconds = cv2.convertMaps(x_at, y_at, cv2.CV_16SC2)
        cv2.remap(part, whole, thirty_seconds, cv2.INTER_LINEAR, dst=band, borderMode=cv2.BORDER_REPLICATE)
    return flat


def _finer(grid: NDArray[np.float32], first: int, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """(h, w) the grid made `_MAP_STEP_PX` times finer, from its block `first` on."""
    step = _MAP_STEP_PX
    rows = grid[first : first + _BAND + 2]
    full = cv2.resize(rows, (rows.shape[1] * step, rows.shape[0] * step), interpolation=cv2.INTER_LINEAR)
    return np.asarray(full[step : step + shape[0], step : step + shape[1]], np.float32)


def _simplified(ring: Points) -> Points:
    """Fewer points, none of the ring farther from them than the tolerance (D. Douglas, T. Peucker, 1973)."""
    kept = cv2.approxPolyDP(ring.astype(np.float32)[:, None], _SIMPLIFY_MM, True)
    return np.asarray(kept.reshape(-1, 2), np.float64)


def _wood(outline: Points, holes: tuple[Points, ...], size: tuple[int, int], px_per_mm: float) -> Mask:
    mask = np.zeros((size[1], size[0]), np.uint8)

    def fill(ring: Points, value: int) -> None:
        fine = np.round((ring * px_per_mm - 0.5) * 16).astype(np.int32)
        cv2.fillPoly(mask, [fine], value, lineType=cv2.LINE_8, shift=4)

    fill(outline, 1)
    for hole in holes:
        fill(hole, 0)
    return mask.astype(bool)


def _width_near(ring: Points, y: float, length: float) -> float:
    """Width of the silhouette a little inside an end."""
    inside = y + 0.02 * length if y == 0 else y - 0.02 * length
    fine = spaced(ring, 0.5)
    near = fine[np.abs(fine[:, 1] - inside) < 0.01 * length + 0.5]
    return float(np.ptp(near[:, 0])) if len(near) > 1 else float(np.ptp(ring[:, 0]))


def middle_px_per_mm(plane: Plane, ring_px: Points) -> float:
    """Pixels per mm of the photograph at the leaf's middle."""
    low, high = ring_px.min(axis=0), ring_px.max(axis=0)
    return px_per_mm_at(plane, plane.to_mm(((low + high) / 2)[None]))
