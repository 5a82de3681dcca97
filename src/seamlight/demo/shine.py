"""What the saw and the lamp do to a face's brightness: saw marks, streaks, shiny patches, runout, curl."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from seamlight.demo.leaf import SawnLeaf, Side
from seamlight.demo.noise import F32, cloud, stream, tile

Array = NDArray[np.float64]
RIPPLE = 0.045  # share of brightness of the torn lines at strength 1 (invented; fools what real boards fool)
COARSE = 2.0  # px per mm of the layer in which soft things are drawn


def shine(leaf: SawnLeaf, side: Side, px_per_mm: float, rows: int, cols: int, lamp: str) -> F32:
    """(rows, cols) to add to the brightness factor."""
    dice = stream(leaf.seed, "shine", leaf.name, side)
    small_rows, small_cols = int(rows / px_per_mm * COARSE) + 2, int(cols / px_per_mm * COARSE) + 2
    x = (np.arange(small_cols, dtype=np.float32) + 0.5) / COARSE
    y = (np.arange(small_rows, dtype=np.float32) + 0.5) / COARSE
    layer = 0.015 * cloud(dice, small_rows, small_cols, 70 * COARSE, 40 * COARSE)
    layer = layer + _lamp(leaf, side, lamp, x, y) + _curl(leaf, side, lamp, x, y)
    if leaf.marks.streaks > 0:
        layer = layer + leaf.marks.streaks * _streaks(dice, x, y, leaf.length_mm, leaf.width_mm)
    wide = cv2.resize(
        np.asarray(layer, dtype=np.float32),
        (round(small_cols * px_per_mm / COARSE), round(small_rows * px_per_mm / COARSE)),
        interpolation=cv2.INTER_LINEAR,
    )[:rows, :cols]
    out = np.asarray(wide, dtype=np.float32).copy()
    if leaf.marks.saw > 0:
        out += np.float32(leaf.marks.saw) * _saw(dice, px_per_mm, rows, cols)
    if leaf.marks.streaks > 0:
        _scratches(dice, out, px_per_mm, leaf.marks.streaks)
    if leaf.marks.ripple > 0:
        out += np.float32(leaf.marks.ripple) * _ripple(
            stream(leaf.seed, "ripple", leaf.name, side), px_per_mm, rows, cols
        )
    if leaf.marks.tint != 1.0:
        out += np.float32(leaf.marks.tint - 1.0)
    return out


def runout_sign(leaf: SawnLeaf, side: Side) -> float:
    """+1 where a fibre that rises toward +v rises out of the face toward end 2, -1 where it dips."""
    return -1.0 if leaf.mirrored(side) != leaf.upside_down else 1.0


def _lamp(leaf: SawnLeaf, side: Side, lamp: str, x: F32, y: F32) -> F32:
    """Fibres that face the lamp throw less light back than those that lie from it; light falls off along."""
    if lamp == "diffuse":
        return np.zeros((1, 1), dtype=np.float32)
    toward = 1.0 if lamp == "end 1" else -1.0
    slope = leaf.log.spiral_deg * runout_sign(leaf, side) * toward
    fall = -0.10 * toward * (y / float(y[-1]) - 0.5)
    return np.asarray(leaf.marks.runout_gain * slope + fall[:, None] + 0.0 * x[None, :], dtype=np.float32)


def _curl(leaf: SawnLeaf, side: Side, lamp: str, x: F32, y: F32) -> F32:
    """Bars across the grain where the fibre waves, the same waves on both leaves."""
    log = leaf.log
    if log.figure <= 0:
        return np.zeros((1, 1), dtype=np.float32)
    across, along = np.meshgrid(x.astype(np.float64), y.astype(np.float64))
    u, v, z = leaf.log_points(side, across, along)
    dice = stream(log.seed, "curl")
    phase = 2 * np.pi * z / log.figure_mm
    for scale, amount in ((70.0, 1.6), (33.0, 1.1), (17.0, 0.5)):
        way = dice.uniform(-1, 1, 3)
        phase = phase + amount * np.sin(
            (way[0] * u + 0.4 * way[1] * v + way[2] * z) * 2 * np.pi / scale + 6.0 * way[1]
        )
    strength = 0.6 + 0.4 * np.sin(u / 31.0 + dice.uniform(0, 6)) * np.sin(z / 83.0 + dice.uniform(0, 6))
    bars = np.sin(phase) * strength
    if lamp != "diffuse":
        bars = bars * runout_sign(leaf, side) * (1.0 if lamp == "end 1" else -1.0)
    return np.asarray(0.11 * log.figure * bars, dtype=np.float32)


def _streaks(dice: np.random.Generator, x: F32, y: F32, length: float, width: float) -> F32:
    """Oblique bright streaks across the grain with a shadow behind, and fuzzy shiny patches."""
    out = np.zeros((len(y), len(x)), dtype=np.float32)
    for _ in range(int(dice.integers(5, 10))):
        y0, slope = float(dice.uniform(0, length)), float(dice.normal(0.0, 0.16))
        half, bend = float(dice.uniform(2.0, 8.0)), float(dice.normal(0.0, 0.0006))
        middle, reach = float(dice.uniform(0, width)), float(dice.uniform(25.0, 110.0))
        line = y0 + slope * (x - middle) + bend * (x - middle) ** 2
        off = (y[:, None] - line[None, :]) / half
        fade = np.exp(-(((x - middle) / reach) ** 4))
        body = np.exp(-(np.clip(off, -9, 0) ** 2) * 3.0) * np.exp(-(np.clip(off, 0, 9) ** 2) * 0.5)
        shadow = 0.35 * np.exp(-((off + 1.5) ** 2) * 1.2)
        out += np.float32(dice.uniform(0.2, 0.5)) * (body - shadow) * fade[None, :]
    for _ in range(int(dice.integers(2, 5))):
        y0, x0 = float(dice.uniform(0, length)), float(dice.uniform(0, width))
        off = ((y[:, None] - y0) / float(dice.uniform(12, 40))) ** 2 + (
            (x[None, :] - x0) / float(dice.uniform(12, 40))
        ) ** 2
        out += np.float32(dice.uniform(0.12, 0.3)) * np.exp(-off)
    speckle = tile(dice, *out.shape, 0.7, 1.6)
    return np.asarray(out * np.clip(1.0 + 0.55 * speckle, 0.1, 3.0), dtype=np.float32)


def _saw(dice: np.random.Generator, px_per_mm: float, rows: int, cols: int) -> F32:
    """Fine lines left by the teeth, a little out of square, stronger here and weaker there."""
    skew = float(dice.normal(0.0, 0.05))
    length = rows + int(abs(skew) * cols) + 8
    place = np.arange(length) / px_per_mm
    period = float(dice.uniform(1.4, 3.2))
    rough = np.cumsum(dice.standard_normal(length)) * 0.02
    line = 0.6 * np.sin(2 * np.pi * place / period + rough) + 0.5 * dice.standard_normal(length)
    line = gaussian_filter1d(line.astype(np.float32), 0.12 * px_per_mm)
    shift = (np.arange(cols) * skew).astype(np.int32)
    shift -= shift.min()
    index = np.arange(rows, dtype=np.int32)[:, None] + shift[None, :]
    strength = cv2.resize(
        np.clip(0.5 + 0.5 * cloud(dice, 40, 16, 6, 5), 0, 1.5), (cols, rows), interpolation=cv2.INTER_LINEAR
    )
    return np.asarray(0.045 * line.take(index, mode="clip") * strength, dtype=np.float32)


def _ripple(dice: np.random.Generator, px_per_mm: float, rows: int, cols: int) -> F32:
    """Short torn lines across the grain everywhere, as a coarse saw or a line camera leaves them."""
    lines = tile(dice, 768, 512, 0.14 * px_per_mm, 2.2 * px_per_mm)
    over = np.tile(lines, (-(-rows // 768), -(-cols // 512)))[:rows, :cols]
    patches = np.clip(1.0 + 0.4 * cloud(dice, 60, 24, 8, 6), 0.3, 1.8)
    strength = cv2.resize(patches.astype(np.float32), (cols, rows), interpolation=cv2.INTER_LINEAR)
    return np.asarray(RIPPLE * over * strength, dtype=np.float32)


def _scratches(dice: np.random.Generator, out: F32, px_per_mm: float, strength: float) -> None:
    """Bright hair-thin lines across, some in rows a tooth's step apart."""
    rows, cols = out.shape
    ink = np.zeros((rows, cols), dtype=np.uint8)
    for _ in range(int(dice.integers(2, 5))):
        step = float(dice.uniform(5.0, 12.0)) * px_per_mm
        x0, reach = float(dice.uniform(0, cols)), float(dice.uniform(12, 45)) * px_per_mm
        slope = float(dice.normal(0.0, 0.06))
        start = float(dice.uniform(0, rows))
        for count in range(int(dice.integers(5, 22))):
            y = start + count * step + float(dice.normal(0, 0.2)) * px_per_mm
            left, right = x0 - reach * float(dice.uniform(0.4, 1)), x0 + reach * float(dice.uniform(0.4, 1))
            ends = [(int(px * 16), int((y + slope * (px - x0)) * 16)) for px in (left, right)]
            cv2.line(ink, ends[0], ends[1], int(dice.uniform(60, 220)), 1, cv2.LINE_AA, 4)
    if px_per_mm > 4.5:
        ink = np.asarray(cv2.GaussianBlur(ink, (0, 0), 0.12 * px_per_mm), dtype=np.uint8)
    out += np.float32(0.35 * min(strength, 1.0) / 255.0) * ink
