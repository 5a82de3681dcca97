"""Sliding a mirror over a board: where the figure left of a line best mirrors the figure right of it.

Makers stand a mirror on the uncut board to find the best centre line before they saw (trade practice).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.signal import find_peaks

from seamlight.layout.figure import Lines
from seamlight.photo.flat import FlatLeaf

Array = NDArray[np.float64]

_LEAST = 0.4
_FINE_SHARE = 0.07  # of the reach: finer than this no two faces are alike
_BROAD_SHARE = 0.8  # of the reach: broader than this is light


@dataclass(frozen=True)
class MirrorLine:
    """A line along the board and how well what lies left of it meets the mirrored right."""

    x_mm: float
    likeness: float  # correlation, -1..1
    slip_mm: float  # how far the right side has to be slid toward end 2 to meet the left one


def mirror_lines(
    flat: FlatLeaf, reach_mm: float, slip_mm: float = 0.0, least: float = _LEAST
) -> tuple[MirrorLine, ...]:
    """The lines along the grain about which the figure mirrors itself, from left to right.

    Args:
        flat: a board, or a picture of mirrored strips.
        reach_mm: how far either side of the line is compared.
        slip_mm: how far one side may be slid along to meet the other.
        least: lines that mirror worse are left out.

    Each line is the best within half the reach. A figure may be even about a line by chance: this shows how
    an opening would look, it doesn't say that strips were sawn from one place.
    """
    lines = _everywhere(flat, reach_mm, slip_mm)
    apart = max(round(reach_mm * flat.px_per_mm), 1)  # half the reach, places lying half a px apart
    peaks, _ = find_peaks([line.likeness for line in lines], height=least, distance=apart)
    return tuple(lines[peak] for peak in peaks)


def best_mirror_line(flat: FlatLeaf, reach_mm: float, slip_mm: float = 0.0) -> MirrorLine | None:
    """The line about which the figure mirrors best; None where the board is narrower than twice the reach."""
    return max(_everywhere(flat, reach_mm, slip_mm), key=lambda line: line.likeness, default=None)


def _everywhere(flat: FlatLeaf, reach_mm: float, slip_mm: float) -> list[MirrorLine]:
    """The mirror stood on every half px.

    The correlation for every slip at once is a product of spectra along the columns, summed over the columns
    on either side.
    """
    reach = max(round(reach_mm * flat.px_per_mm), 2)
    lines = _mirrorable(flat, reach)
    height, width = lines.shape
    slip = min(round(slip_mm * flat.px_per_mm), height // 2)
    length = scipy.fft.next_fast_len(height + slip, real=True)
    spectra = scipy.fft.rfft(lines, length, axis=0)
    energy = (lines * lines).sum(axis=0, dtype=np.float64)
    found = []
    for odd in (0, 1):  # on the edge between two px, or on the middle of one
        first = np.arange(reach, width - reach + 1 - odd)  # the px right of the edge, or that one
        if not len(first):
            continue
        total = np.zeros((len(spectra), len(first)), spectra.dtype)
        left, right = np.zeros(len(first)), np.zeros(len(first))
        for step in range(reach):
            one, two = first - 1 - step, first + odd + step
            if odd and two[-1] >= width:
                break
            total += spectra[:, one] * np.conj(spectra[:, two])
            left, right = left + energy[one], right + energy[two]
        by_slip = scipy.fft.irfft(total, length, axis=0)
        slips = np.arange(-slip, slip + 1)
        overlap = (height - np.abs(slips)) / height  # share of the rows that still lie side by side
        likeness = by_slip[slips] / (np.sqrt(left * right) * overlap[:, None] + 1e-9)
        best = likeness.argmax(axis=0)
        found += [
            MirrorLine(
                float(x + odd / 2) / flat.px_per_mm, float(likeness[b, n]), float(slips[b]) / flat.px_per_mm
            )
            for n, (x, b) in enumerate(zip(first, best, strict=True))
        ]
    return sorted(found, key=lambda line: line.x_mm)


def _mirrorable(flat: FlatLeaf, reach: int) -> Lines:
    """(h, w) log lightness without what is too fine or too broad to be the figure; 0 off the wood."""
    wood = flat.wood.astype(np.float32)
    levels = np.log(cv2.cvtColor(flat.rgb, cv2.COLOR_RGB2GRAY).astype(np.float32) + np.float32(8.0))

    def mean_near(share: float) -> Lines:
        sigma = max(share * reach, 0.3)
        return np.asarray(
            cv2.GaussianBlur(levels * wood, (0, 0), sigma)
            / np.maximum(cv2.GaussianBlur(wood, (0, 0), sigma), np.float32(1e-3)),
            dtype=np.float32,
        )

    return (mean_near(_FINE_SHARE) - mean_near(_BROAD_SHARE)) * wood
