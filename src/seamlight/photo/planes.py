"""Planes of wood in a photograph: from px to mm on the face and back, however the scale was found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.camera import Camera
from seamlight.photo.flat import Points

Array = NDArray[np.float64]


class Plane(Protocol):
    """A flat face in a photograph; its mm have any origin and turn but are never mirrored."""

    def to_px(self, points_mm: Points) -> Points:
        """(n, 2) mm on the face -> (n, 2) px."""
        ...

    def to_mm(self, points_px: Points) -> Points:
        """(n, 2) px -> (n, 2) mm on the face."""
        ...


@dataclass(frozen=True, eq=False)
class SeenPlane:
    """A face lifted above the target sheets, seen by a camera."""

    camera: Camera
    lift_mm: float

    def to_px(self, points_mm: Points) -> Points:
        return self.camera.to_px(np.asarray(points_mm, np.float64), self.lift_mm)

    def to_mm(self, points_px: Points) -> Points:
        return self.camera.to_plane(np.asarray(points_px, np.float64), self.lift_mm)


@dataclass(frozen=True)
class EvenPlane:
    """A face seen square on, with the same px/mm everywhere."""

    px_per_mm: float

    def to_px(self, points_mm: Points) -> Points:
        return np.asarray(points_mm, np.float64) * self.px_per_mm

    def to_mm(self, points_px: Points) -> Points:
        return np.asarray(points_px, np.float64) / self.px_per_mm


@dataclass(frozen=True, eq=False)
class CorneredPlane:
    """A face whose perspective is known from four of its points."""

    mm_to_px: Array  # (3, 3) homography

    @staticmethod
    def of(corners_mm: Points, corners_px: Points) -> CorneredPlane:
        """From four points on the face and in the picture."""
        found = cv2.getPerspectiveTransform(
            np.asarray(corners_mm, np.float32), np.asarray(corners_px, np.float32)
        )
        return CorneredPlane(np.asarray(found, np.float64))

    def to_px(self, points_mm: Points) -> Points:
        return _carried(self.mm_to_px, points_mm)

    def to_mm(self, points_px: Points) -> Points:
        return _carried(np.asarray(np.linalg.inv(self.mm_to_px)), points_px)


def _carried(homography: Array, points: Points) -> Points:
    full = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return np.asarray(full[:, :2] / full[:, 2:3])


def px_per_mm_at(plane: Plane, at_mm: Points) -> float:
    """Pixels per mm of the photograph at a place: the root of the change of area."""
    step = 0.5
    x, y = np.ravel(at_mm)
    around = np.array([[x - step, y], [x + step, y], [x, y - step], [x, y + step]])
    seen = plane.to_px(around)
    return float(np.sqrt(abs(np.linalg.det(np.stack([seen[1] - seen[0], seen[3] - seen[2]]) / (2 * step)))))


@dataclass(frozen=True, eq=False)
class LeafMap:
    """Between the leaf frame and the photograph; see `seamlight.photo.flat.PlaneMap`."""

    plane: Plane
    turn: Array  # (2, 2): leaf = (plane mm) @ turn.T - origin
    origin_mm: Array  # (2,)

    def to_photo(self, points_mm: Points) -> Points:
        """(n, 2) mm in the leaf frame -> (n, 2) px in the photograph, pixel centres at half-integers."""
        return self.plane.to_px((np.asarray(points_mm, np.float64) + self.origin_mm) @ self.turn)

    def to_leaf(self, points_px: Points) -> Points:
        """(n, 2) px in the photograph -> (n, 2) mm in the leaf frame."""
        return np.asarray(self.plane.to_mm(points_px) @ self.turn.T - self.origin_mm)
