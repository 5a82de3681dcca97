"""A pinhole camera with mild radial distortion, looking at a plane.

World frame: the target plane is z = 0 with x and y as on the first sheet; z runs into the bench, so that the
wood's face, lifted by the leaf's thickness, is the plane z = -thickness.

Model (R. Hartley, A. Zisserman, Multiple View Geometry, 2nd ed., 6.1 and 7.4):
  p = c + (1 + k1 r^2 + k2 r^4) (u - c),   u = c + f (X / Z, Y / Z),   (X, Y, Z) = R world + t,
with r the distance of u from c in half diagonals of the picture, so that k1 is the displacement in the
corner.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Camera:
    """Focal length and centre in px, distortion, and the pose (rotation vector, shift) of the world frame."""

    focal_px: float
    centre_px: Array  # (2,)
    k1: float
    k2: float
    turn: Array  # (3,) rotation vector
    shift_mm: Array  # (3,)
    half_diagonal_px: float

    def rotation(self) -> Array:
        """(3, 3)."""
        return rotation_of(self.turn)

    def height_mm(self) -> float:
        """How far the camera stands above the target plane."""
        return float(abs((self.rotation().T @ self.shift_mm)[2]))

    def to_px(self, plane_mm: Points, lift_mm: float = 0.0) -> Points:
        """(n, 2) mm on the plane lifted by `lift_mm` -> (n, 2) px in the picture."""
        rotation = self.rotation()
        seen = plane_mm @ rotation[:, :2].T + (self.shift_mm - lift_mm * rotation[:, 2])
        return pictured(seen, self.focal_px, self.k1, self.k2, self.half_diagonal_px) + self.centre_px

    def to_plane(self, points_px: Points, lift_mm: float = 0.0) -> Points:
        """(n, 2) px in the picture -> (n, 2) mm on the plane lifted by `lift_mm`."""
        straight = self._unbend(np.asarray(points_px, np.float64) - self.centre_px) / self.focal_px
        rotation = self.rotation()
        # Ray d seen from the eye -R't meets the plane where its z is -lift.
        ray = np.column_stack([straight, np.ones(len(straight))]) @ rotation
        eye = -rotation.T @ self.shift_mm
        reach = (-lift_mm - eye[2]) / ray[:, 2:3]
        return np.asarray((eye + reach * ray)[:, :2])

    def _unbend(self, bent: Array) -> Array:
        if self.k1 == 0 and self.k2 == 0:
            return bent
        # only the distance from the centre is at issue: straight = share * bent
        far = _squared(bent / self.half_diagonal_px)
        share = np.ones_like(far)
        for _ in range(8):
            squared = far * share * share
            share = 1 / (1 + squared * (self.k1 + squared * self.k2))
        return np.asarray(bent * share)


def _squared(points: Array) -> Array:
    """(..., n, 1) squares of the distances from the origin."""
    x, y = points[..., :1], points[..., 1:]
    return np.asarray(x * x + y * y)


def pictured(
    seen: Array, focal_px: Array | float, k1: Array | float, k2: Array | float, half_diagonal_px: float
) -> Array:
    """(..., n, 2) px from the picture's centre of points (..., n, 3) in the camera's frame.

    Lens figures of many cameras, one for each leading index, are shaped (..., 1, 1).
    """
    straight = focal_px * seen[..., :2] / seen[..., 2:]
    squared = _squared(straight / half_diagonal_px)
    return np.asarray(straight * (1 + squared * (k1 + squared * k2)))


def rotation_of(turn: Array) -> Array:
    """(3, 3) of a rotation vector."""
    return np.asarray(cv2.Rodrigues(np.asarray(turn, np.float64))[0], np.float64)


def pose_of(plane_mm: Points, points_px: Points, focal_px: float, centre_px: Array) -> tuple[Array, Array]:
    """Rotation vector and shift of a plane seen without distortion.

    T. Collins, A. Bartoli, "Infinitesimal plane-based pose estimation", IJCV 2014, as OpenCV's SOLVEPNP_IPPE;
    of its two answers the one that fits better.
    """
    eye = np.array([[focal_px, 0, centre_px[0]], [0, focal_px, centre_px[1]], [0, 0, 1.0]])
    world = np.column_stack([plane_mm, np.zeros(len(plane_mm))])
    _, turns, shifts, _ = cv2.solvePnPGeneric(world, points_px, eye, None, flags=cv2.SOLVEPNP_IPPE)
    return np.asarray(turns[0], np.float64).ravel(), np.asarray(shifts[0], np.float64).ravel()
