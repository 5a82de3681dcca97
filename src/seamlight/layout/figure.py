"""The figure of one leaf: its rings and marks, freed of light, colour cast and saw marks.

A `Figure` is made once a leaf and is all that matching ever looks at: small, and quick to send to a worker.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import scipy.fft
from numpy.typing import NDArray

from seamlight.photo.flat import FlatLeaf, Mask

Lines = NDArray[np.float32]

ACROSS_PX_PER_MM = 4.0  # resolves rings 0.6 mm apart
ALONG_PX_PER_MM = 1.0
NOTHING = -128  # where there is no wood
VOID = -1e6  # the same in a sheet of values
STEPS = 32.0  # quantised steps for one standard deviation

_RIM_MM = 3.0  # rough sawn rim that says nothing
_LIGHT_MM = 5.0  # wider than this across is light, not figure
_SAW_MM = 4.0  # along: saw marks are shorter than this
_BLOCK = (32, 64)  # px along and across: 32 mm by 16 mm


@dataclass(frozen=True, eq=False)
class Figure:
    """Rings and marks of one leaf in its own frame; px (j, i) is at x = (i + 0.5) / 4, y = j + 0.5 mm."""

    lines: NDArray[np.int8]  # (h, w), STEPS a standard deviation; NOTHING where there is no wood
    width_mm: float
    length_mm: float

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width across, length along."""
        return self.width_mm, self.length_mm

    def values(self) -> Lines:
        """(h, w) in standard deviations, 0 where there is no wood."""
        return np.where(self.wood(), self.lines.astype(np.float32) / np.float32(STEPS), np.float32(0))

    def sheet(self) -> Lines:
        """(h, w) as `values`, but VOID where there is no wood, so that what mixes with it shows."""
        return np.where(self.wood(), self.lines.astype(np.float32) / np.float32(STEPS), np.float32(VOID))

    def wood(self) -> Mask:
        """(h, w), True where the figure says something."""
        return np.asarray(self.lines != NOTHING)


def figure_of(flat: FlatLeaf) -> Figure:
    """The figure of a flat leaf.

    Light enters as a factor, so its logarithm is a smooth sum that a high pass across the grain takes out;
    saw marks run nearly across the grain, so the same high pass takes them out too.
    """
    grey = cv2.cvtColor(flat.rgb, cv2.COLOR_RGB2GRAY)
    span = np.ptp(np.asarray(flat.outline_mm), axis=0) if len(flat.outline_mm) else np.zeros(2)
    width = max(float(span[0]), 1.0)
    length = max(float(span[1]), 1.0)
    rim = 2 * round(_RIM_MM * flat.px_per_mm) + 1
    square = np.ones((rim, rim), np.uint8)
    edge = cv2.BORDER_CONSTANT
    wood = np.asarray(cv2.erode(flat.wood.astype(np.uint8), square, borderType=edge, borderValue=0), np.uint8)
    light = _resample(np.asarray(grey * wood, np.uint8), flat.px_per_mm, width, length)
    share = _resample(wood, flat.px_per_mm, width, length)
    kept = share > 0.9
    levels = np.log(light / np.maximum(share, 0.1) + np.float32(8.0)).astype(np.float32)
    return Figure(_quantised(clean_lines(levels, kept), kept), width, length)


def clean_lines(levels: Lines, kept: Mask, along_mm: float = _SAW_MM) -> Lines:
    """(h, w) log lightness on the figure's grid -> lines of unit spread, 0 where not `kept`."""
    weight = kept.astype(np.float32)

    def mean_near(values: Lines, across_mm: float, along: float) -> Lines:
        sigmas = across_mm * ACROSS_PX_PER_MM, along * ALONG_PX_PER_MM
        return np.asarray(blurred(values * weight, *sigmas) / np.maximum(blurred(weight, *sigmas), 1e-3))

    lines = (levels - mean_near(levels, _LIGHT_MM, 0.0)) * weight
    lines = mean_near(lines, 0.0, along_mm) * weight
    lines = strengthened(lines) * weight
    spread = np.sqrt(float((lines * lines).sum()) / max(float(weight.sum()), 1.0)) + 1e-9
    near = np.sqrt(np.maximum(mean_near(lines * lines, 8.0, 20.0), 0.0))
    lines = lines / (near + np.float32(0.3 * spread)) * weight
    return np.asarray(
        lines / (np.sqrt((lines * lines).sum() / max(weight.sum(), 1.0)) + 1e-9), dtype=np.float32
    )


def strengthened(lines: Lines) -> Lines:
    """Lines that run on over a block come out stronger than speckle, whichever way they run.

    Each block's spectrum is weighted by its own size, as is done for finger prints: Watson, Candela and
    Grother, "Comparison of FFT fingerprint filtering methods", SPIE 2242 (1994), from memory.
    """
    high, wide = _BLOCK
    rows, columns = lines.shape
    padded = np.zeros(
        (rows + 2 * high - rows % (high // 2), columns + 2 * wide - columns % (wide // 2)), np.float32
    )
    padded[high // 2 : high // 2 + rows, wide // 2 : wide // 2 + columns] = lines
    window = np.sqrt(np.outer(np.hanning(high + 1)[:-1], np.hanning(wide + 1)[:-1])).astype(np.float32)
    out = np.zeros_like(padded)
    for top in (0, high // 2):
        for left in (0, wide // 2):
            down, over = (padded.shape[0] - top) // high, (padded.shape[1] - left) // wide
            here = np.s_[top : top + down * high, left : left + over * wide]
            blocks = padded[here].reshape(down, high, over, wide).swapaxes(1, 2) * window
            spectrum = scipy.fft.rfft2(blocks)
            size = np.abs(spectrum)
            size /= size.max(axis=(2, 3), keepdims=True) + 1e-9
            back = scipy.fft.irfft2(spectrum * size, s=_BLOCK) * window
            out[here] += back.swapaxes(1, 2).reshape(down * high, over * wide)
    return out[high // 2 : high // 2 + rows, wide // 2 : wide // 2 + columns]


def blurred(values: Lines, across_px: float, along_px: float) -> Lines:
    """Gaussian blur; a sigma of 0 leaves that way alone."""
    for sigma, axis in ((across_px, 0), (along_px, 1)):
        if sigma > 0:
            size = 2 * int(np.ceil(3 * sigma)) + 1
            kernel = cv2.getGaussianKernel(size, sigma).astype(np.float32)
            one = np.ones((1, 1), np.float32)
            over, down = (kernel, one) if axis == 0 else (one, kernel)
            filtered = cv2.sepFilter2D(values, cv2.CV_32F, over, down, borderType=cv2.BORDER_CONSTANT)
            values = np.asarray(filtered, dtype=np.float32)
    return values


def _resample(plane: NDArray[np.uint8], px_per_mm: float, width_mm: float, length_mm: float) -> Lines:
    """Exact area means on the figure's grid, so that no scale is bent by rounding."""
    along = _area_means(
        plane.astype(np.float32), px_per_mm / ALONG_PX_PER_MM, _cells(length_mm, ALONG_PX_PER_MM)
    )
    across = _area_means(along.T, px_per_mm / ACROSS_PX_PER_MM, _cells(width_mm, ACROSS_PX_PER_MM))
    return np.ascontiguousarray(across.T)


def _cells(length_mm: float, px_per_mm: float) -> int:
    return max(int(np.ceil(length_mm * px_per_mm - 1e-6)), 1)


def _area_means(rows: Lines, step_px: float, count: int) -> Lines:
    """Means over `count` stretches of `step_px` rows, from running sums; beyond the last row there is 0."""
    total = np.zeros((rows.shape[0] + 1, rows.shape[1]))
    np.cumsum(rows, axis=0, out=total[1:])
    edges = np.clip(np.arange(count + 1) * step_px, 0.0, rows.shape[0])
    low = np.minimum(edges.astype(int), rows.shape[0] - 1)
    part = (edges - low)[:, None]
    sums = total[low] * (1 - part) + total[low + 1] * part
    return np.asarray(np.diff(sums, axis=0) / step_px, dtype=np.float32)


def _quantised(lines: Lines, kept: Mask) -> NDArray[np.int8]:
    steps = np.clip(np.round(lines * STEPS), -127, 127).astype(np.int8)
    return np.where(kept, steps, np.int8(NOTHING))
