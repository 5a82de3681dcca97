"""One leaf of the pair laid into leaf A's frame, with all that a candidate place is judged by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, sqrt
from typing import Literal

import numpy as np
import scipy.ndimage
import shapely
from numpy.typing import NDArray

from seamlight.grain.field import GrainField
from seamlight.layout.carry import Size, carry_to_a, carry_to_b
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.sound import COUNTS_FROM, all_flaws, sound_wood
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
_LEAST_READ = 0.2  # share of a field's places that must be read for it to count


@dataclass(frozen=True, eq=False)
class FlawPoints:
    """A flaw as points: its outline at half a millimetre and its inside at one, coarser where it is large."""

    index: int
    points_mm: Points
    counts: bool  # False: mentioned only, or cut out of the sound wood already


@dataclass(frozen=True, eq=False)
class Side:
    """A leaf in leaf A's frame. `angle_deg` and `spacing_mm` answer at (n, 2) points there; None: unread."""

    name: Literal["a", "b"]
    size_mm: Size
    silhouette_mm: Points
    wood_mm: Points
    holes_mm: tuple[Points, ...]
    flaws: tuple[FlawPoints, ...]
    angle_deg: Callable[[Points], Array] | None
    spacing_mm: Callable[[Points], Array] | None
    ring_to_face_deg: Callable[[Points], Array] | None
    to_leaf: Callable[[Points], Points]
    from_leaf: Callable[[Points], Points]
    middle_mm: Points  # of leaf A's bounding box: offsets, tilts and shifts are counted from it


def size_of(leaf: Leaf) -> Size:
    """Width and length of the bounding box that the leaf frame's origin belongs to."""
    far = np.asarray(leaf.outline_mm, dtype=np.float64).max(axis=0)
    return leaf.width_mm or float(far[0]), leaf.length_mm or float(far[1])


def side_a(leaf: Leaf) -> Side:
    """Leaf A as it lies."""
    return _side("a", leaf, size_of(leaf), lambda p: p, lambda p: p, 1.0, 0.0)


def side_b(leaf: Leaf, registration: Registration, size_a_mm: Size) -> Side:
    """Leaf B laid onto leaf A by its registration."""
    size = size_of(leaf)
    return _side(
        "b",
        leaf,
        size_a_mm,
        lambda p: carry_to_a(registration, size_a_mm, size, p),
        lambda p: carry_to_b(registration, size_a_mm, size, p),
        -1.0 if registration.b_shows == "sawn" else 1.0,
        registration.rotate_deg or 0.0,
    )


def _side(
    name: Literal["a", "b"],
    leaf: Leaf,
    size_a_mm: Size,
    forth: Callable[[Points], Points],
    back: Callable[[Points], Points],
    sense: float,
    turned_deg: float,
) -> Side:
    sound = sound_wood(leaf)
    flaws = tuple(
        FlawPoints(i, forth(flaw_points(f.outline_mm)), f.sure >= COUNTS_FROM and i not in sound.missing)
        for i, f in enumerate(all_flaws(leaf))
    )
    angle = spacing = None
    if leaf.field is not None:
        folded = (leaf.field.angle_deg + 90.0) % 180.0 - 90.0
        angle = _on_field(leaf.field, sense * folded + turned_deg, back)
        spacing = _on_field(leaf.field, leaf.field.spacing_mm, back)
    return Side(
        name=name,
        size_mm=size_a_mm,
        silhouette_mm=forth(sound.silhouette_mm),
        wood_mm=forth(sound.wood_mm),
        holes_mm=tuple(forth(h) for h in sound.holes_mm),
        flaws=flaws,
        angle_deg=angle,
        spacing_mm=spacing,
        ring_to_face_deg=_on_end(leaf, back),
        to_leaf=back,
        from_leaf=forth,
        middle_mm=np.array([size_a_mm[0] / 2, size_a_mm[1] / 2]),
    )


def flaw_points(outline_mm: Points) -> Points:
    """A flaw's outline and inside as (n, 2) points, some hundreds at most."""
    shape = shapely.make_valid(shapely.Polygon(np.asarray(outline_mm, dtype=np.float64)))
    length, area = shape.length, shape.area
    rim = shapely.segmentize(shape, max(0.5, length / 240))
    step = max(1.0, sqrt(area / 160)) if area > 0 else 1.0
    low_x, low_y, high_x, high_y = shape.bounds
    x, y = (
        low + (np.arange(ceil((high - low) / step)) + 0.5) * step
        for low, high in ((low_x, high_x), (low_y, high_y))
    )
    inside = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside = inside[shapely.contains_xy(shape, inside)] if len(inside) else inside.reshape(0, 2)
    return np.vstack([shapely.get_coordinates(rim), inside])


def _on_field(
    field: GrainField, values: Array, back: Callable[[Points], Points]
) -> Callable[[Points], Array] | None:
    """Values by straight lines between the field's places; where it says nothing, the nearest that does."""
    known = np.isfinite(values)
    if known.mean() < _LEAST_READ:
        return None
    nearest = scipy.ndimage.distance_transform_edt(~known, return_distances=False, return_indices=True)
    filled = values[tuple(nearest)]
    x0, y0 = field.x_mm[0], field.y_mm[0]
    dx = float(np.diff(field.x_mm).mean()) if len(field.x_mm) > 1 else 1.0
    dy = float(np.diff(field.y_mm).mean()) if len(field.y_mm) > 1 else 1.0

    def at(points_mm: Points) -> Array:
        own = back(points_mm)
        return _bilinear(filled, (own[:, 1] - y0) / dy, (own[:, 0] - x0) / dx)

    return at


def _bilinear(grid: Array, row: Array, column: Array) -> Array:
    rows, columns = grid.shape
    row = np.clip(row, 0.0, rows - 1.0)
    column = np.clip(column, 0.0, columns - 1.0)
    r = np.minimum(row.astype(np.intp), max(rows - 2, 0))
    c = np.minimum(column.astype(np.intp), max(columns - 2, 0))
    r1, c1 = np.minimum(r + 1, rows - 1), np.minimum(c + 1, columns - 1)
    fr, fc = row - r, column - c
    top = grid[r, c] * (1 - fc) + grid[r, c1] * fc
    low = grid[r1, c] * (1 - fc) + grid[r1, c1] * fc
    return np.asarray(top * (1 - fr) + low * fr)


def _on_end(leaf: Leaf, back: Callable[[Points], Points]) -> Callable[[Points], Array] | None:
    """The ring-to-face angle by the place across the leaf, as its end shows it."""
    if leaf.end is None:
        return None
    known = np.isfinite(leaf.end.ring_to_face_deg)
    if not known.any():
        return None
    x, ring = leaf.end.x_mm[known], leaf.end.ring_to_face_deg[known]
    order = np.argsort(x)
    return lambda points_mm: np.interp(back(points_mm)[:, 0], x[order], ring[order])
