"""The other face of a leaf, seen through to the face that fixes its frame."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import shapely

from seamlight.grain.reading import Reading
from seamlight.layout.carry import Size, carry_to_a, carry_to_b
from seamlight.layout.pair import Registration
from seamlight.layout.register import register
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf, Points


def seen_through(face: Reading, other: Reading) -> Reading:
    """The other face's reading with its picture and its flaws carried into the frame of `face`.

    The other face of a leaf shows the same figure mirrored, so it is matched like a mirrored partner. It is
    the same leaf, too: where its outline laid on itself meets better than the figure lays it, that counts,
    since knots that rise on their way through draw the figure after them.

    Raises:
        Mistake: the picture shows the same face again.
    """
    found = register(face.flat, other.flat)
    if found.b_shows == "other":
        raise Mistake(
            "the picture given as the other face shows the same face again",
            where="layout",
            do="turn the leaf over and photograph it once more",
        )
    sizes = size_of(face.flat), size_of(other.flat)
    found = max(
        (found, replace(found, slide_mm=0.0, across_mm=0.0, rotate_deg=0.0)),
        key=lambda lain: _outlines_meet(face.flat, other.flat, lain),
    )
    flaws = tuple(
        replace(flaw, outline_mm=carry_to_a(found, *sizes, np.asarray(flaw.outline_mm)))
        for flaw in other.flaws
    )
    return replace(other, flat=_laid_under(face.flat, other.flat, found), flaws=flaws)


def _outlines_meet(face: FlatLeaf, other: FlatLeaf, lain: Registration) -> float:
    """Share of both silhouettes that lies on each other, 0..1."""
    own = shapely.make_valid(shapely.Polygon(face.outline_mm))
    ring = carry_to_a(lain, size_of(face), size_of(other), np.asarray(other.outline_mm))
    laid = shapely.make_valid(shapely.Polygon(ring))
    return float(own.intersection(laid).area / own.union(laid).area)


def size_of(flat: FlatLeaf) -> Size:
    """Width and length of the leaf's bounding box, mm."""
    width, length = np.ptp(np.asarray(flat.outline_mm), axis=0)
    return float(width), float(length)


def _laid_under(face: FlatLeaf, other: FlatLeaf, found: Registration) -> FlatLeaf:
    """The other face's picture resampled onto the pixels of `face`."""
    height, width = face.wood.shape
    sizes = size_of(face), size_of(other)
    corners: Points = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]) * (width, height)
    there = carry_to_b(found, *sizes, corners / face.px_per_mm) * other.px_per_mm
    # pixel centres lie at half-integers here and at integers in OpenCV
    matrix = cv2.getAffineTransform(
        np.asarray(corners - 0.5, dtype=np.float32), np.asarray(there - 0.5, dtype=np.float32)
    )
    back = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    rgb = np.asarray(cv2.warpAffine(other.rgb, matrix, (width, height), flags=back), dtype=np.uint8)
    wood = cv2.warpAffine(other.wood.astype(np.uint8), matrix, (width, height), flags=back) > 0
    return replace(face, rgb=rgb, wood=wood, warnings=other.warnings)
