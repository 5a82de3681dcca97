"""A leaf's kept flat picture as the sheets take it, without its photograph."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import cv2
import numpy as np
from PIL import Image

from seamlight.layout.pair import Leaf
from seamlight.photo.flat import FlatLeaf, Points, Scale

_BITS = 4  # of a fixed-point number's fraction


@dataclass(frozen=True)
class FlatMap:
    """The flat picture stands in for the photograph: its own pixels."""

    px_per_mm: float

    def to_photo(self, points_mm: Points) -> Points:
        """mm in the leaf frame -> px of the flat picture."""
        return np.asarray(points_mm) * self.px_per_mm

    def to_leaf(self, points_px: Points) -> Points:
        """px of the flat picture -> mm in the leaf frame."""
        return np.asarray(points_px) / self.px_per_mm


def kept_flat(picture: bytes, px_per_mm: float, leaf: Leaf) -> FlatLeaf:
    """The flat leaf of a kept picture.

    Args:
        picture: JPEG or PNG in the leaf frame.
        px_per_mm: of the picture.
        leaf: whose silhouette says where there is wood.
    """
    rgb = np.asarray(Image.open(BytesIO(picture)).convert("RGB"), np.uint8)
    ring = np.asarray(leaf.outline_mm, dtype=np.float64)
    wood = np.zeros(rgb.shape[:2], np.uint8)
    corners = np.rint((ring * px_per_mm - 0.5) * 2**_BITS).astype(np.int32)
    cv2.fillPoly(wood, [corners], 1, shift=_BITS)
    low, high = ring.min(axis=0), ring.max(axis=0)
    width = float(high[0] - low[0])
    return FlatLeaf(
        rgb=rgb,
        wood=wood.astype(bool),
        px_per_mm=px_per_mm,
        outline_mm=ring,
        holes_mm=(),
        length_mm=float(high[1] - low[1]),
        width_end1_mm=width,
        width_end2_mm=width,
        scale=Scale("px", px_per_mm, leaf.scale_error_mm),
        to_picture=FlatMap(px_per_mm),
    )
