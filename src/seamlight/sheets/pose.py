"""How a leaf lies in the opened pair: between its own frame and the body frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.layout.opening import Edge, LeafPlacing, Opening
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points


@dataclass(frozen=True, eq=False)
class LeafPose:
    """A rigid motion from one leaf's frame to the body frame (x right, y toward the tail, 0 at the neck end).

    `axes` holds the body's x and y directions as rows, in the leaf frame; `origin_mm` is the neck end of the
    outline in the leaf frame. Where the face shown is not the one in the leaf's picture, `axes` mirrors.
    """

    axes: Points  # (2, 2), orthonormal
    origin_mm: Points  # (2,)
    half: Edge

    def to_body(self, points_mm: Points) -> Points:
        """(n, 2) mm in the leaf frame -> (n, 2) mm in the body frame."""
        return np.asarray((np.asarray(points_mm) - self.origin_mm) @ self.axes.T)

    def to_leaf(self, points_mm: Points) -> Points:
        """(n, 2) mm in the body frame -> (n, 2) mm in the leaf frame."""
        return np.asarray(np.asarray(points_mm) @ self.axes + self.origin_mm)

    @property
    def mirrored(self) -> bool:
        """True where the body shows the face that the leaf's own picture does not."""
        return bool(np.linalg.det(self.axes) < 0)

    @property
    def joint_side(self) -> Edge:
        """The long edge of the leaf, in its own frame, that becomes the joint."""
        outward = self.axes[0] * (1 if self.half == "right" else -1)
        return "left" if outward[0] > 0 else "right"

    @property
    def neck_end(self) -> int:
        """The end of the leaf, in its own frame, that the neck lies toward."""
        return 1 if self.axes[1, 1] > 0 else 2


def pose_of(placing: LeafPlacing, half: Edge, length_mm: float) -> LeafPose:
    """The pose of a leaf from its placing; the joint line reaches equally far beyond both ends."""
    neck, tail = np.asarray(placing.joint_line_mm, dtype=float)
    down = (tail - neck) / np.linalg.norm(tail - neck)
    origin = (neck + tail) / 2 - down * length_mm / 2
    outward = np.array([down[1], -down[0]])
    if np.mean((np.asarray(placing.outline_mm) - origin) @ outward) < 0:
        outward = -outward
    rightward = outward if half == "right" else -outward
    return LeafPose(np.vstack([rightward, down]), origin, half)


def poses(opening: Opening, outline: Outline) -> tuple[LeafPose, LeafPose]:
    """The poses of leaf A and leaf B in an opening."""
    length = outline.length_mm
    half_b: Edge = "right" if opening.a_is == "left" else "left"
    return pose_of(opening.a, opening.a_is, length), pose_of(opening.b, half_b, length)
