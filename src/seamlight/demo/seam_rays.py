"""Light through a joint by following single rays from the lens, through the slit, to the lamp or to a wall.

Nothing here shares a formula with the reader's own model (`seamlight.seam.optics`).
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Array = NDArray[np.float64]

FINER = 5  # grid of the leaves' ends in each pixel
ACROSS, LENS = 6, 40  # rays for each place along the joint: strips of the gap, places on the lens


def trace(
    gap_mm: Array,
    depth_mm: float,
    distance_mm: float,
    lens_mm: float,
    off_plane_mm: float,
    reflectance: float,
    dice: np.random.Generator,
) -> tuple[Array, Array]:
    """Rays through each place along the joint, whose one edge is straight (x = 0) and whose other is hollow.

    Returns:
        x_mm (n, ACROSS), where the strips of the gap lie on the near face, and the light that the lens
        gathers from each strip as mm of bare lamp.
    """
    n = len(gap_mm)
    gap = np.maximum(gap_mm, 0.0)[:, None, None]
    strip = (np.arange(ACROSS)[None, :, None] + dice.uniform(size=(n, ACROSS, LENS))) / ACROSS
    near = strip * gap
    # even over the round opening: one place in each of LENS rings of equal area, at any angle
    ring = np.sqrt((np.arange(LENS) + dice.uniform(size=(n, ACROSS, LENS))) / LENS)
    lens = off_plane_mm + lens_mm / 2 * ring * np.cos(2 * np.pi * dice.uniform(size=(n, ACROSS, LENS)))
    slope = (near - lens) / distance_mm
    far = near + slope * depth_mm
    through = (far >= 0) & (far <= gap)
    wall = np.where(far < 0, 0.0, gap)
    with np.errstate(divide="ignore", invalid="ignore"):
        struck = np.where(through, depth_mm, (wall - near) / slope)
        deep = np.clip(depth_mm - struck, 0.0, depth_mm)
        # a wall's strip beside an even, wide lamp sees it through the slit's mouth: (1 - cos of the mouth's
        # angle) / 2 (configuration factor of a strip at right angles to an opening, Howell)
        lit = 0.5 * (1.0 - deep / np.hypot(deep, gap))
    light = np.where(through, 1.0, reflectance * np.nan_to_num(lit))
    return near.mean(axis=2), light.mean(axis=2) * gap[:, :, 0] / ACROSS


def spread(
    shape: tuple[int, int], at_px: Array, light: Array, blur_px: float, halo: float
) -> NDArray[np.float32]:
    """A picture (rows, cols) of small lights, each blurred by the lens and gathered by square pixels.

    Args:
        at_px: (n, 2) x and y, pixel centres at whole numbers. light: (n,) in pixels of bare lamp.
        halo: share of the light thrown wide.
    """
    reach = int(np.ceil(9 * blur_px)) + 1
    steps = np.arange(-reach, reach + 1)
    picture = np.zeros(shape[0] * shape[1])
    for start in range(0, len(light), 8000):
        at, share = at_px[start : start + 8000], light[start : start + 8000]
        whole = np.rint(at).astype(int)
        rest = at - whole
        spots = np.zeros((len(at), len(steps), len(steps)))
        for part, in_pixels in ((1 - halo, _core), (halo, _wide)):
            x, y = (in_pixels(steps[None, :] - rest[:, axis, None], blur_px) for axis in (0, 1))
            spots += part * y[:, :, None] * x[:, None, :]
        rows = whole[:, 1, None, None] + steps[None, :, None]
        cols = whole[:, 0, None, None] + steps[None, None, :]
        inside = (rows >= 0) & (rows < shape[0]) & (cols >= 0) & (cols < shape[1])
        index = np.broadcast_to(rows * shape[1] + cols, spots.shape)[inside]
        picture += np.bincount(index, (spots * share[:, None, None])[inside], len(picture))
    return picture.reshape(shape).astype(np.float32)


def blurred(picture: NDArray[np.float32], blur_px: float, halo: float) -> NDArray[np.float32]:
    """A picture with the blur that `spread` gives; its pixels are gathered already, so points are blurred."""
    reach = int(np.ceil(9 * blur_px)) + 1
    steps = np.arange(-reach, reach + 1).astype(np.float64)
    done = np.zeros_like(picture)
    for part, in_pixels in ((1 - halo, _core), (halo, _wide)):
        kernel = in_pixels(steps, blur_px, 0.02)
        kernel = (kernel / kernel.sum()).astype(np.float32)
        done += np.float32(part) * cv2.sepFilter2D(
            picture, cv2.CV_32F, kernel, kernel, borderType=cv2.BORDER_REPLICATE
        )
    return done


def gathered(fine: NDArray[np.float32], blur_px: float, halo: float) -> NDArray[np.float32]:
    """A picture on a grid `FINER` times finer, blurred as `spread` does and gathered by square pixels."""
    reach = (int(np.ceil(9 * blur_px)) + 1) * FINER
    steps = np.arange(-reach, reach + 1) / FINER
    done = np.zeros_like(fine)
    for part, in_pixels in ((1 - halo, _core), (halo, _wide)):
        kernel = in_pixels(steps, blur_px)
        kernel = (kernel / kernel.sum()).astype(np.float32)
        done += np.float32(part) * cv2.sepFilter2D(
            fine, cv2.CV_32F, kernel, kernel, borderType=cv2.BORDER_REPLICATE
        )
    return np.ascontiguousarray(done[FINER // 2 :: FINER, FINER // 2 :: FINER])


def _core(offset: Array, blur_px: float, pixel: float = 1.0) -> Array:
    """Share of a point's light in a pixel so far away: doubled by the sensor's filter, then a little soft."""
    split, soft = 0.7 * blur_px, 0.7 * blur_px
    sides = np.array([[-split], [split]])
    flat = offset.ravel()[None, :] + sides
    both = ndtr((flat + pixel / 2) / soft) - ndtr((flat - pixel / 2) / soft)
    return np.asarray(both.mean(axis=0).reshape(offset.shape), dtype=np.float64)


def _wide(offset: Array, blur_px: float, pixel: float = 1.0) -> Array:
    """The same for light strayed in the lens: falling off exponentially."""

    def below(x: Array) -> Array:
        return np.where(x < 0, 0.5 * np.exp(np.minimum(x, 0)), 1 - 0.5 * np.exp(-np.maximum(x, 0)))

    return np.asarray(
        below((offset + pixel / 2) / (1.8 * blur_px)) - below((offset - pixel / 2) / (1.8 * blur_px))
    )
