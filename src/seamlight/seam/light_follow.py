"""Follow the line of light across the picture and cut the columns that hold it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.seam.light_find import Line
from seamlight.seam.tone_curve import Rgb, clipped, luma_of

Floats = NDArray[np.float64]
F32 = NDArray[np.float32]
Bools = NDArray[np.bool_]

REACH_PX = 48  # kept on either side of the seam
FLANK_PX = np.arange(10.0, 32.0, 2.0)  # where the wood beside it is looked at
_BLOCK_PX = 16
_LEAST_COLUMNS = 50
_SEEK_PX = (14, 8, 6)


@dataclass(frozen=True, eq=False)
class Strip:
    """Pixels beside the seam, untouched, by columns of the picture (of its transpose, for a steep seam).

    Summing a column, times the cosine of the seam's slope, gives the light per length of seam without any
    resampling.
    """

    luma: Rgb  # (2 REACH_PX + 1, n) code values
    inside: Bools  # (2 REACH_PX + 1, n) where there is picture
    clipped: Bools  # (2 REACH_PX + 1, n)
    away_px: F32  # (2 REACH_PX + 1, n) square to the seam, positive below (or right of) it
    cosine: Floats  # (n,) of the seam's slope in each column
    rise: Floats  # (n,) its slope: rows for each column
    s_px: Floats  # (n,) along the seam from the picture's border
    at_px: Floats  # (n, 2) the seam in the picture, x and y
    flank: Floats  # (n,) light of the wood, or of the lamp beyond it, beside the seam: the brighter side


def follow(light: F32, rgb: Rgb, line: Line, name: str = "") -> Strip:
    """The strip along a line from border to border of the picture, its course fitted to the light itself.

    Args:
        light: (h, w) as sRGB decodes it. rgb: (h, w, 3) the same picture. name: the picture's.

    Raises:
        Mistake: the line runs along the picture's border.
    """
    turned = line.steep
    seen = np.ascontiguousarray(light.T) if turned else light
    start, stop = (point[::-1] if turned else point for point in (line.from_px, line.to_px))
    course = np.array([(stop[1] - start[1]) / (stop[0] - start[0]), start[1]])
    course[1] -= course[0] * start[0]
    fitted = _course(seen, (start[0], stop[0]), course)
    if _columns(fitted, seen.shape).size < _LEAST_COLUMNS:
        raise Mistake(
            "no seam: the only line of light runs along the picture's border",
            where=name,
            do="have the whole joint in the picture, with wood on both sides of it",
        )
    return _cut(seen, rgb.transpose(1, 0, 2) if turned else rgb, fitted, turned)


def _course(seen: F32, lit: tuple[float, float], course: Floats) -> Floats:
    """Coefficients (highest first) of the seam's row over its column, by the middle of the light."""
    middle, half = (lit[0] + lit[1]) / 2, (lit[1] - lit[0]) / 2
    blocks = np.arange(max(lit[0], 0), min(lit[1], seen.shape[1] - 1) - _BLOCK_PX, _BLOCK_PX)
    for reach in _SEEK_PX:
        found = [_middle_of(seen, int(b), course, reach) for b in blocks]
        good = [(x, y, w) for x, y, w in (f for f in found if f is not None)]
        if len(good) < 6:
            return course
        x, y, weight = np.array(good).T
        scaled = (x - middle) / half
        degree = 3 if np.ptp(scaled) > 1.5 and len(good) > 20 else 1
        weight = np.sqrt(np.minimum(weight, np.quantile(weight, 0.7)))
        for _ in range(4):
            fit = np.polynomial.Polynomial.fit(scaled, y, degree, w=weight, domain=(-1, 1), window=(-1, 1))
            off = np.abs(y - fit(scaled))
            weight = weight / (1 + (off / max(1.5 * float(np.median(off)), 0.1)) ** 2)
        in_columns = np.polynomial.Polynomial([-middle / half, 1 / half])
        course = np.asarray(fit(in_columns).coef[::-1], dtype=np.float64)
    return course


def _middle_of(seen: F32, column: int, course: Floats, reach: int) -> tuple[float, float, float] | None:
    """Column, row and amount of the light near the course in one block; None where none stands out."""
    cols = np.arange(column, column + _BLOCK_PX)
    at = np.polyval(course, cols)
    rows = np.rint(at).astype(int)[None, :] + np.arange(-reach, reach + 1)[:, None]
    if rows.min() < 0 or rows.max() >= seen.shape[0]:
        return None
    block = seen[rows, cols[None, :]]
    profile, away = block.mean(axis=1), (rows - at).mean(axis=1)
    floor = float(np.median(profile))
    noise = 1.5 * float(np.median(np.abs(profile - floor))) + 2e-4
    above = np.maximum(profile - floor - 2 * noise, 0.0)
    amount = float(above.sum())
    if amount < 4 * noise or np.count_nonzero(above) > reach:
        return None
    centre = float((above * away).sum() / amount)
    return cols.mean(), float(np.polyval(course, cols.mean())) + centre, amount


def _columns(course: Floats, shape: tuple[int, ...]) -> NDArray[np.int_]:
    """The columns of a picture of that shape in which the course lies."""
    cols = np.arange(shape[1])
    at = np.polyval(course, cols)
    return cols[(at > 2) & (at < shape[0] - 3)]


def _cut(seen: F32, rgb: Rgb, course: Floats, turned: bool) -> Strip:
    """The columns where the course lies in the picture."""
    cols = _columns(course, seen.shape)
    at = np.polyval(course, cols)
    slope = np.polyval(np.polyder(course), cols)
    cosine = 1.0 / np.hypot(1.0, slope)
    rows = np.rint(at).astype(int)[None, :] + np.arange(-REACH_PX, REACH_PX + 1)[:, None]
    inside = (rows >= 0) & (rows < seen.shape[0])
    held = np.clip(rows, 0, seen.shape[0] - 1)
    pixels = rgb[held, cols[None, :]]
    luma = luma_of(pixels)
    away = ((rows - at[None, :]) * cosine[None, :]).astype(np.float32)
    steps = np.concatenate([[0.0], (0.5 / cosine[1:] + 0.5 / cosine[:-1])])
    place = np.column_stack([at, cols] if turned else [cols, at]).astype(np.float64)
    sides = [
        cv2.remap(
            seen,
            (cols - sign * FLANK_PX[:, None] * slope * cosine).astype(np.float32),
            (at + sign * FLANK_PX[:, None] * cosine).astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ).mean(axis=0)
        for sign in (-1, 1)
    ]
    flank = np.maximum(*sides).astype(np.float64)
    return Strip(luma, inside, clipped(pixels) & inside, away, cosine, slope, np.cumsum(steps), place, flank)


def straightened(rgb: Rgb, at_px: Floats, half_px: int) -> Rgb:
    """(2 half_px + 1, n, 3) a picture laid straight along points (n, 2) that follow the seam."""
    along = np.gradient(at_px, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    square = np.column_stack([-along[:, 1], along[:, 0]])
    steps = np.arange(-half_px, half_px + 1)[:, None, None]
    places = (at_px[None] + steps * square[None]).astype(np.float32)
    straight = cv2.remap(
        rgb, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(straight, dtype=np.uint8)
