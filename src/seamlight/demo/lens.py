"""The phone's camera over the bench: a pinhole with radial distortion, known exactly.

World: the bench is the plane z = 0 with x to the right and y down as in the upright picture, z into the
bench; a leaf's face lies at z = -thickness. Pixel centres are at half-integers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo.noise import F32
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
FRAME_DIAGONAL_MM = 43.2666  # of the 24 x 36 mm frame that equivalent focal lengths refer to


@dataclass(frozen=True, eq=False)
class Phone:
    """Where the camera stands and how it draws."""

    rows: int
    cols: int
    focal_px: float
    rotation: Array  # (3, 3) world to camera
    eye_mm: Array  # (3,) in the world
    distortion: float  # share of the half diagonal by which a corner moves out (+) or in (-)

    @property
    def half_diagonal_px(self) -> float:
        return float(np.hypot(self.rows, self.cols)) / 2

    def to_px(self, plane_mm: Points, lift_mm: float = 0.0) -> Points:
        """(n, 2) mm on the plane `lift_mm` above the bench -> (n, 2) px."""
        plane = np.asarray(plane_mm, dtype=np.float64)
        world = np.column_stack([plane, np.full(len(plane), -lift_mm)])
        seen = (world - self.eye_mm) @ self.rotation.T
        flat = self.focal_px * seen[:, :2] / seen[:, 2:]
        # p = c + u (1 + d (|u| / R)^2), R half the diagonal (radial term of D. C. Brown, 1966)
        size = (flat**2).sum(axis=1, keepdims=True) / self.half_diagonal_px**2
        return np.asarray(flat * (1.0 + self.distortion * size) + [self.cols / 2, self.rows / 2])

    def to_plane(self, px: Points, lift_mm: float = 0.0) -> Points:
        """(n, 2) px -> (n, 2) mm on the plane `lift_mm` above the bench."""
        bent = np.asarray(px, dtype=np.float64) - [self.cols / 2, self.rows / 2]
        flat = bent
        for _ in range(12):
            size = (flat**2).sum(axis=1, keepdims=True) / self.half_diagonal_px**2
            flat = bent / (1.0 + self.distortion * size)
        ray = np.column_stack([flat / self.focal_px, np.ones(len(flat))]) @ self.rotation
        reach = (-lift_mm - self.eye_mm[2]) / ray[:, 2:]
        return np.asarray((self.eye_mm + reach * ray)[:, :2])

    def plane_map(self, window: tuple[int, int, int, int], lift_mm: float, step: int = 8) -> tuple[F32, F32]:
        """x and y (mm on the plane) of every pixel of a window (x0, y0, x1, y1).

        Exact every `step` px and linear between: at 5 px/mm that departs by less than 0.001 mm.
        """
        x0, y0, x1, y1 = window
        grid_x = np.arange(x0 - step // 2, x1 + 2 * step, step) + 0.0
        grid_y = np.arange(y0 - step // 2, y1 + 2 * step, step) + 0.0
        across, along = np.meshgrid(grid_x, grid_y)
        plane = self.to_plane(np.column_stack([across.ravel(), along.ravel()]), lift_mm)
        size = (len(grid_x) * step, len(grid_y) * step)

        def full(values: Array) -> F32:
            big = cv2.resize(
                values.reshape(across.shape).astype(np.float32), size, interpolation=cv2.INTER_LINEAR
            )
            # grid point k lies in the middle of its block of `step` pixels: at x0 - step/2 + k step
            return cast(F32, big[step : step + y1 - y0, step : step + x1 - x0])

        return full(plane[:, 0]), full(plane[:, 1])


def stand(
    points_mm: Points,
    megapixels: float,
    portrait: bool,
    focal_35mm: float,
    tilt_deg: float,
    toward_deg: float,
    turn_deg: float,
    distortion: float,
    margin: float,
) -> Phone:
    """The camera aimed at the middle of `points_mm` from just far enough that all of them are in the picture.

    Args:
        tilt_deg: between the line of sight and the bench's normal; toward_deg: which way the camera leans.
        turn_deg: turn of the bench in the picture. margin: share of the picture kept free all round.
    """
    long_side = round(float(np.sqrt(megapixels * 1e6 * 4 / 3)) / 8) * 8
    short_side = round(long_side * 3 / 4 / 8) * 8
    rows, cols = (long_side, short_side) if portrait else (short_side, long_side)
    focal = focal_35mm / FRAME_DIAGONAL_MM * float(np.hypot(rows, cols))
    lean = np.radians(tilt_deg)
    axis = np.array([np.cos(np.radians(toward_deg)), np.sin(np.radians(toward_deg)), 0.0])
    tilt = np.asarray(cv2.Rodrigues(axis * lean)[0], dtype=np.float64)
    turn = np.asarray(cv2.Rodrigues(np.array([0.0, 0.0, np.radians(turn_deg)]))[0], dtype=np.float64)
    rotation = turn @ tilt
    target = np.append((points_mm.min(axis=0) + points_mm.max(axis=0)) / 2, 0.0)
    near, far = 200.0, 6000.0
    for _ in range(40):
        middle = (near + far) / 2
        eye = target - rotation[2] * middle
        phone = Phone(rows, cols, focal, rotation, eye, distortion)
        px = phone.to_px(points_mm)
        low, high = np.array([cols, rows]) * margin, np.array([cols, rows]) * (1 - margin)
        if bool(((px > low) & (px < high)).all()):
            far = middle
        else:
            near = middle
    return Phone(rows, cols, focal, rotation, target - rotation[2] * far, distortion)
