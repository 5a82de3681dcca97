"""Smooth random textures, all from a seed."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]


def stream(*key: int | str) -> np.random.Generator:
    """A random stream of its own for each key, so that one option never shifts the dice of another."""
    words = [part if isinstance(part, int) else int.from_bytes(part.encode()[:16], "big") for part in key]
    return np.random.default_rng([abs(word) for word in words])


def tile(dice: np.random.Generator, rows: int, cols: int, blur_rows: float, blur_cols: float) -> F32:
    """(rows, cols) noise that repeats seamlessly, mean 0, spread 1, blurred by sigmas in its own px."""
    white = dice.standard_normal((rows, cols)).astype(np.float32)
    pad_r, pad_c = min(int(4 * blur_rows) + 1, rows), min(int(4 * blur_cols) + 1, cols)
    wide: F32 = np.pad(white, ((pad_r, pad_r), (pad_c, pad_c)), mode="wrap")
    if blur_rows > 0 or blur_cols > 0:
        wide = np.asarray(
            cv2.GaussianBlur(wide, (0, 0), sigmaX=max(blur_cols, 1e-3), sigmaY=max(blur_rows, 1e-3)),
            dtype=np.float32,
        )
    cut = wide[pad_r : pad_r + rows, pad_c : pad_c + cols]
    return np.asarray((cut - cut.mean()) / max(float(cut.std()), 1e-9), dtype=np.float32)


def cloud(dice: np.random.Generator, rows: int, cols: int, cell_rows: float, cell_cols: float) -> F32:
    """(rows, cols) soft cloud, mean about 0 and spread about 1, with cells of the given size in px."""
    small = dice.standard_normal((int(rows / cell_rows) + 4, int(cols / cell_cols) + 4)).astype(np.float32)
    big = cv2.resize(
        small,
        (int(small.shape[1] * cell_cols) + 1, int(small.shape[0] * cell_rows) + 1),
        interpolation=cv2.INTER_CUBIC,
    )
    return np.asarray(big[:rows, :cols], dtype=np.float32)
