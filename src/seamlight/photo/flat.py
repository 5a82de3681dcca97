"""The flat picture of one leaf at a known scale, and how it hangs together with its photograph."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Rgb = NDArray[np.uint8]
Mask = NDArray[np.bool_]


class PlaneMap(Protocol):
    """Carries points between the leaf frame (mm) and the photograph after its EXIF turn (px)."""

    def to_photo(self, points_mm: Points) -> Points:
        """(n, 2) mm in the leaf frame -> (n, 2) px in the photograph, pixel centres at half-integers."""
        ...

    def to_leaf(self, points_px: Points) -> Points:
        """(n, 2) px in the photograph -> (n, 2) mm in the leaf frame."""
        ...


@dataclass(frozen=True, eq=False)
class Scale:
    """How the scale was found and how far to trust it."""

    how: Literal["tags", "px", "dpi", "size"]
    px_per_mm: float  # in the photograph, at the leaf's middle
    error_mm: float  # doubt over the leaf's length


@dataclass(frozen=True, eq=False)
class FlatLeaf:
    """One leaf, cut out of its bench and laid flat in the leaf frame.

    The centre of pixel (row j, column i) lies at x = (i + 0.5) / px_per_mm, y = (j + 0.5) / px_per_mm.
    """

    rgb: Rgb  # (h, w, 3)
    wood: Mask  # (h, w), True on the leaf
    px_per_mm: float  # of this flat picture, at most 6
    outline_mm: Points  # (n, 2) silhouette, not closed by a repeated point
    holes_mm: tuple[Points, ...]  # through holes inside the silhouette
    length_mm: float
    width_end1_mm: float
    width_end2_mm: float
    scale: Scale
    to_picture: PlaneMap
    warnings: tuple[str, ...] = ()


def shrink(flat: FlatLeaf, px_per_mm: float) -> FlatLeaf:
    """The same leaf with a smaller picture; nothing changes where it is that small already."""
    if px_per_mm >= flat.px_per_mm:
        return flat
    height, width = flat.wood.shape
    ratio = px_per_mm / flat.px_per_mm
    size = max(1, round(width * ratio)), max(1, round(height * ratio))
    rgb = np.asarray(cv2.resize(flat.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    wood = cv2.resize(flat.wood.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST).astype(bool)
    return replace(flat, rgb=rgb, wood=wood, px_per_mm=size[1] / height * flat.px_per_mm)
