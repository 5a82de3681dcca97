"""The two leaves as they will look opened: neck up, joint closed, the outer waste still there."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.layout.opening import Layout, Opening
from seamlight.photo.flat import FlatLeaf, Points, Rgb
from seamlight.sheets.ink import PAPER, Colour
from seamlight.sheets.pose import LeafPose, poses


@dataclass(frozen=True)
class View:
    """A window on the body frame: pixels to the mm, its top-left corner, its size in pixels."""

    px_per_mm: float
    left_mm: float
    top_mm: float
    width: int
    height: int

    def to_px(self, points_mm: Points) -> Points:
        """(n, 2) mm in the body frame -> (n, 2) px in the picture."""
        return (np.asarray(points_mm, dtype=float) - (self.left_mm, self.top_mm)) * self.px_per_mm


def body_view(
    layout: Layout, openings: tuple[Opening, ...], px_per_mm: float, margin_mm: float = 0.0
) -> View:
    """The window that holds both leaves and the outline of each of the openings, the joint in its middle."""
    half, top, bottom = 0.0, 0.0, layout.outline.length_mm
    for opening in openings:
        for leaf, placing, pose in zip(
            (layout.a, layout.b), (opening.a, opening.b), poses(opening, layout.outline), strict=True
        ):
            points = pose.to_body(np.vstack([leaf.outline_mm, placing.outline_mm]))
            outward = points[:, 0] * (1 if pose.half == "right" else -1)
            half = max(half, float(outward.max()))
            top, bottom = min(top, float(points[:, 1].min())), max(bottom, float(points[:, 1].max()))
    half, top, bottom = half + margin_mm, top - margin_mm, bottom + margin_mm
    return View(
        px_per_mm, -half, top, int(np.ceil(2 * half * px_per_mm)), int(np.ceil((bottom - top) * px_per_mm))
    )


def book_matched(
    layout: Layout,
    opening: Opening,
    flat_a: FlatLeaf,
    flat_b: FlatLeaf | None,
    px_per_mm: float,
    *,
    view: View | None = None,
    paper: Colour = PAPER,
    other_a: FlatLeaf | None = None,
    other_b: FlatLeaf | None = None,
) -> Rgb:
    """The opened pair in the body frame, (h, w, 3), seen from the front with the neck up.

    Args:
        flat_b: None where B was not photographed: A's mirrored picture stands in, as it does in the layout.
        view: the window to draw; None: just what holds both leaves.
        other_a: the other face of A already carried into A's frame; without it an opening that shows that
            face is drawn from the photographed face as if seen through the wood.
        other_b: the same for B, which shows its other face where the pair is slip-matched.
    """
    window = view or body_view(layout, (opening,), px_per_mm)
    pose_a, pose_b = poses(opening, layout.outline)
    shown_a = other_a if pose_a.mirrored and other_a is not None else flat_a
    if flat_b is None:
        shown_b = mirrored(other_a if pose_b.mirrored and other_a is not None else flat_a)
    else:
        shown_b = other_b if pose_b.mirrored and other_b is not None else flat_b
    canvas = np.empty((window.height, window.width, 3), np.float32)
    canvas[:] = paper
    for flat, pose in ((shown_a, pose_a), (shown_b, pose_b)):
        colour, cover = seen_in(flat, pose, window)
        cover = (cover * _own_half(pose, window))[..., None]
        canvas = canvas * (1 - cover) + colour * cover
    return np.asarray(np.clip(np.rint(canvas), 0, 255), np.uint8)


def mirrored(flat: FlatLeaf) -> FlatLeaf:
    """A leaf's picture turned left to right about the middle of its bounding box, with its silhouette."""
    width_mm = float(np.max(flat.outline_mm[:, 0]))
    shift = width_mm * flat.px_per_mm - flat.rgb.shape[1]
    move = np.array([[-1.0, 0.0, flat.rgb.shape[1] - 1 + shift], [0.0, 1.0, 0.0]])
    size = flat.rgb.shape[1::-1]
    wood = cv2.warpAffine(flat.wood.astype(np.uint8), move, size, flags=cv2.INTER_NEAREST)
    return replace(
        flat,
        rgb=np.asarray(cv2.warpAffine(flat.rgb, move, size, borderMode=cv2.BORDER_REPLICATE), np.uint8),
        wood=wood > 0,
        outline_mm=(np.asarray(flat.outline_mm) * (-1.0, 1.0) + (width_mm, 0.0))[::-1],
    )


def seen_in(flat: FlatLeaf, pose: LeafPose, view: View) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """A leaf's colours (h, w, 3) and how far it covers each pixel (h, w), 0..1, in a window on the body."""
    rgb, wood, scale = shrunk(flat, view.px_per_mm)
    # body mm of a pixel's centre -> leaf mm -> the flat picture's pixel, centres at half-integers
    turn = pose.axes.T * scale / view.px_per_mm
    corner = pose.to_leaf(np.array([[view.left_mm, view.top_mm]]))[0] * scale
    move = np.column_stack([turn, corner + turn @ (0.5, 0.5) - 0.5])
    size = (view.width, view.height)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    colour = cv2.warpAffine(rgb, move, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    cover = cv2.warpAffine(wood.astype(np.float32), move, size, flags=flags, borderValue=0.0)
    return colour.astype(np.float32), np.asarray(cover, np.float32)


def shrunk(flat: FlatLeaf, px_per_mm: float) -> tuple[Rgb, NDArray[np.float32], float]:
    """The flat picture and its wood at about the scale it will be shown at, lest grain shimmer."""
    factor = px_per_mm / flat.px_per_mm
    wood = flat.wood.astype(np.float32)
    if factor >= 0.9:
        return flat.rgb, wood, flat.px_per_mm
    height, width = wood.shape
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    rgb = np.asarray(cv2.resize(flat.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    return (
        rgb,
        np.asarray(cv2.resize(wood, size, interpolation=cv2.INTER_AREA)),
        flat.px_per_mm * size[1] / height,
    )


def _own_half(pose: LeafPose, view: View) -> NDArray[np.float32]:
    """1 on the leaf's side of the joint, 0 beyond it, in between where the joint crosses a pixel: (w,)."""
    x_px = (np.arange(view.width) + 0.5) + view.left_mm * view.px_per_mm
    outward = x_px if pose.half == "right" else -x_px
    return np.asarray(np.clip(outward + 0.5, 0, 1), np.float32)
