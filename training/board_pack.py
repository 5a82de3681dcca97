"""Packs the published boards for training: pictures at 2 px/mm (assumed), soft flaw masks, what to ignore.

Reads the folder of half-size board pictures (see README.md for their authors) and writes one .npz file of
JPEG bytes and PNG label planes, so that the training machine needs no more than Pillow and PyTorch.

    python training/board_pack.py BOARDS_FOLDER OUT.npz
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np

# Class numbers of the published table to our planes; 2 ("Marrow", pith) has no row in the training pictures.
KNOT, PITCH, CRACK, STAIN, WANE = range(5)
PLANE_OF_CLASS = {0: STAIN, 1: KNOT, 3: PITCH, 4: KNOT, 5: KNOT, 6: KNOT, 7: CRACK}
IGNORE_BIT = 1 << 7
SOUND_BIT = 1 << 6  # just round a mark: there the published table says where the flaw ends
SMALLEST_MARK_PX = 8  # smaller boxes in the table are slips of the mouse: something is near, but not that


def wood_of(rgb: np.ndarray) -> np.ndarray:
    """The board's mask on its black belt: each row from its first bright column to its last, smoothed."""
    bright = cv2.GaussianBlur(rgb, (0, 0), 3).max(axis=2) > 70
    rows = np.flatnonzero(bright.mean(axis=1) > 0.4)
    bright = bright[rows]
    left = np.argmax(bright, axis=1).astype(np.float32)
    right = rgb.shape[1] - 1 - np.argmax(bright[:, ::-1], axis=1).astype(np.float32)
    cols = np.arange(rgb.shape[1])
    # The edges are straight but for dark knots, where the row's own edge jumps inward: a line is fitted
    # to the outermost half of the rows.
    first = _line(rows, left, lowest=True)
    last = _line(rows, right, lowest=False)
    wood = np.zeros(rgb.shape[:2], bool)
    wood[rows] = (cols[None] >= first[:, None] + 2) & (cols[None] <= last[:, None] - 2)
    return wood


def _line(rows: np.ndarray, edge: np.ndarray, lowest: bool) -> np.ndarray:
    keep = np.ones(len(rows), bool)
    fit = np.zeros(2)
    for _ in range(6):
        fit = np.polyfit(rows[keep], edge[keep], 1)
        off = edge - np.polyval(fit, rows)
        inward = off if lowest else -off
        keep = inward < max(2.0, float(np.percentile(inward, 60)))
    return np.asarray(np.polyval(fit, rows))


def labels_of(rows: list[list[float]], height: int, width: int) -> np.ndarray:
    """(h, w) u8: one bit for each plane inside the ellipse of a box.

    Bit 7: nothing is to be learnt (the corners of boxes). Bit 6: known to be sound.
    """
    out = np.zeros((height, width), np.uint8)
    ignore = np.zeros((height, width), np.uint8)
    sound = np.zeros((height, width), np.uint8)
    for number, x, y, w, h in rows:
        centre = (x * width, y * height)
        size = (w * width, h * height)
        if min(size) < SMALLEST_MARK_PX or int(number) not in PLANE_OF_CLASS:
            cv2.circle(ignore, (int(centre[0]), int(centre[1])), 24, 1, -1)
            continue
        plane = PLANE_OF_CLASS[int(number)]
        mark = np.zeros_like(out)
        near = (size[0] * 1.6 + 24, size[1] * 1.6 + 24)
        cv2.fillPoly(sound, [cv2.boxPoints((centre, near, 0)).astype(np.int32)], 1)
        box = (size[0] * 1.04 + 2, size[1] * 1.04 + 2)
        cv2.fillPoly(ignore, [cv2.boxPoints((centre, box, 0)).astype(np.int32)], 1)
        # long along the grain: the flaw is a narrow band in the box
        narrow = 0.5 if plane in (STAIN, CRACK) or size[1] > 3 * size[0] else 0.9
        tall = 1.0 if narrow < 0.9 else 0.9
        cv2.ellipse(mark, (centre, (size[0] * narrow, size[1] * tall), 0), 1, -1)
        out |= mark << plane
    bare = out == 0
    out[(sound > 0) & (ignore == 0) & bare] |= SOUND_BIT
    out[(ignore > 0) & bare] |= IGNORE_BIT
    return out


def main(folder: Path, target: Path) -> None:
    """Writes the pack."""
    pictures, labels, woods, middles, names = [], [], [], [], []
    for path in sorted(folder.glob("*.jpg")):
        bgr = cv2.imread(str(path))
        assert bgr is not None
        rows = [
            [float(v) for v in line.split()] for line in path.with_suffix(".txt").read_text().splitlines()
        ]
        rows = [row for row in rows if len(row) == 5]
        wood = wood_of(bgr)
        label = labels_of(rows, *bgr.shape[:2])
        pictures.append(np.frombuffer(path.read_bytes(), np.uint8))
        labels.append(cv2.imencode(".png", label)[1].ravel())
        woods.append(cv2.imencode(".png", wood.astype(np.uint8) * 255)[1].ravel())
        high, wide = bgr.shape[:2]
        middles.append(as_bytes([np.array([row[2] * high, row[1] * wide]) for row in rows]))
        names.append(path.stem)
    save(target, pictures, labels, woods, middles, names)


def as_bytes(middles: list[np.ndarray]) -> np.ndarray:
    """(n, 2) row and column of each flaw's middle, as the bytes of 32-bit floats."""
    return np.frombuffer(np.array(middles, np.float32).reshape(-1, 2).tobytes(), np.uint8)


def save(target: Path, pictures: list, labels: list, woods: list, middles: list, names: list[str]) -> None:
    """One .npz: each list of byte strings as one long array and its cuts."""
    fields: dict[str, np.ndarray] = {"names": np.array(names)}
    for key, chunks in (("picture", pictures), ("label", labels), ("wood", woods), ("middle", middles)):
        fields[key] = np.concatenate(chunks)
        fields[key + "_ends"] = np.cumsum([len(chunk) for chunk in chunks])
    target.parent.mkdir(parents=True, exist_ok=True)
    np.savez(target, **fields)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
