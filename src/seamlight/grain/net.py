"""Runs the trained flaw network over a flat leaf through OpenCV's own reader of ONNX files.

The network works at 2 px/mm on the logarithm of each colour over the wood's median, so that the species and
the lamp's colour cancel, and answers at 1 px/mm. training/ has the script and the data it was trained with.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.flaw import FlawKind
from seamlight.photo.flat import FlatLeaf, Mask, Rgb

Planes = NDArray[np.float32]

NET_KINDS: tuple[FlawKind, ...] = ("knot", "pitch", "crack", "stain", "wane")
IN_PX_PER_MM = 2.0
OUT_PX_PER_MM = 1.0
FLOOR = 0.02  # keeps the logarithm of black wood finite
LIMIT = 2.5
MULTIPLE = 16  # three poolings below a stem of stride 2
TILE_PX, OVERLAP_PX = 1536, 192  # 96 cm and 12 cm of wood: one tile holds any guitar leaf


@dataclass(frozen=True, eq=False)
class FlawMaps:
    """How likely each kind of flaw is at every place of the leaf.

    The centre of cell (row j, column i) lies at x = (i + 0.5) / px_per_mm, y = (j + 0.5) / px_per_mm.
    """

    likely: Planes  # (5, m, n) in the order of NET_KINDS, 0..1, 0 off the wood
    wood: Mask  # (m, n)
    px_per_mm: float


@lru_cache(maxsize=1)
def _network() -> cv2.dnn.Net:
    weights = files("seamlight.grain").joinpath("flaws.onnx").read_bytes()
    return cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))


def likely_flaws(flat: FlatLeaf) -> FlawMaps:
    """The network's answer on a whole leaf, at 1 px/mm."""
    planes = prepared(*_resampled(flat))
    likely = _tiled(planes)
    wood = planes[3, ::2, ::2] > 0
    return FlawMaps(likely * wood, wood, OUT_PX_PER_MM)


def prepared(rgb: Rgb, wood: Mask) -> Planes:
    """(4, h, w) input planes of a picture at 2 px/mm: log colour over the wood's median, and the wood."""
    colour = rgb.astype(np.float32) / 255.0
    middle = np.median(colour[wood], axis=0) if wood.any() else np.full(3, 0.5, np.float32)
    planes = np.zeros((4, *wood.shape), np.float32)
    planes[:3] = np.moveaxis(np.log((colour + FLOOR) / (middle + FLOOR)), 2, 0)
    planes[:3] = np.clip(planes[:3], -LIMIT, LIMIT) * wood
    planes[3] = wood
    return planes


def _resampled(flat: FlatLeaf) -> tuple[Rgb, Mask]:
    """The picture and its wood at 2 px/mm, padded with nothing to the network's multiple."""
    high, wide = flat.wood.shape
    by = IN_PX_PER_MM / flat.px_per_mm
    how = cv2.INTER_AREA if by < 1 else cv2.INTER_LINEAR
    # Whole pixels: the far edge may move by half a pixel, a quarter of a mm.
    size = (max(1, round(wide * by)), max(1, round(high * by)))
    rgb = cv2.resize(flat.rgb, size, interpolation=how)
    share = cv2.resize(flat.wood.astype(np.float32), size, interpolation=how)
    right, below = -size[0] % MULTIPLE, -size[1] % MULTIPLE
    rgb = cv2.copyMakeBorder(rgb, 0, below, 0, right, cv2.BORDER_CONSTANT)
    share = cv2.copyMakeBorder(share, 0, below, 0, right, cv2.BORDER_CONSTANT)
    return np.asarray(rgb, dtype=np.uint8), np.asarray(share > 0.99)


def _tiled(planes: Planes) -> Planes:
    """The network's answer, tile by tile where a leaf is larger than one; overlaps are cut in the middle."""
    _, high, wide = planes.shape
    out = np.zeros((len(NET_KINDS), high // 2, wide // 2), np.float32)
    for top, bottom, first_row, last_row in _cuts(high):
        for left, right, first_col, last_col in _cuts(wide):
            answer = _forward(planes[:, top:bottom, left:right])
            rows = slice(first_row // 2, last_row // 2)
            cols = slice(first_col // 2, last_col // 2)
            out[:, rows, cols] = answer[
                :,
                (first_row - top) // 2 : (last_row - top) // 2,
                (first_col - left) // 2 : (last_col - left) // 2,
            ]
    return out


def _cuts(size: int) -> list[tuple[int, int, int, int]]:
    """Tiles along one axis: where each begins and ends, and which part of it is kept; all even."""
    if size <= TILE_PX:
        return [(0, size, 0, size)]
    starts = list(range(0, size - OVERLAP_PX, TILE_PX - OVERLAP_PX))
    tiles = []
    for i, start in enumerate(starts):
        end = min(size, start + TILE_PX)
        keep_from = start if i == 0 else start + OVERLAP_PX // 2
        keep_to = size if i == len(starts) - 1 else end - OVERLAP_PX // 2
        tiles.append((start, end, keep_from, keep_to))
    return tiles


def _forward(planes: Planes) -> Planes:
    network = _network()
    network.setInput(np.ascontiguousarray(planes[None]), "leaf")
    return np.asarray(network.forward()[0], dtype=np.float32)
