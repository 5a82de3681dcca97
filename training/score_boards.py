"""Scores the package's own flaw finding on the boards held back from training.

python training/score_boards.py BOARDS_FOLDER [--seen] [--pictures OUT_FOLDER]
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np
import shapely

from board_pack import wood_of
from seamlight.grain.flaw import Flaw
from seamlight.grain.flaws import find_flaws
from seamlight.photo.flat import FlatLeaf, Scale

CLASSES = (
    "Quartzity",
    "Live_Knot",
    "Marrow",
    "resin",
    "Dead_Knot",
    "knot_with_crack",
    "Knot_missing",
    "Crack",
)
KNOTS = (1, 4, 5, 6)
BLOCK = 7


class _Px:
    def __init__(self, px_per_mm: float) -> None:
        self.px_per_mm = px_per_mm

    def to_photo(self, points_mm: np.ndarray) -> np.ndarray:
        return points_mm * self.px_per_mm

    def to_leaf(self, points_px: np.ndarray) -> np.ndarray:
        return points_px / self.px_per_mm


def flat_board(rgb: np.ndarray, px_per_mm: float) -> FlatLeaf:
    """A board picture as a flat leaf at an assumed scale."""
    wood = wood_of(rgb)
    contours, _ = cv2.findContours(wood.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = (max(contours, key=len)[:, 0].astype(float) + 0.5) / px_per_mm
    long, wide = np.ptp(outline[:, 1]), np.ptp(outline[:, 0])
    scale = Scale("px", px_per_mm, 0.0)
    return FlatLeaf(rgb, wood, px_per_mm, outline, (), long, wide, wide, scale, _Px(px_per_mm))


def score(
    path: Path, px_per_mm: float
) -> tuple[list[tuple[int, bool, str, float]], float, float, float, list[Flaw], np.ndarray]:
    """Marks with whether each is met; area of finds, of marks, of the board (mm2)."""
    rgb = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
    flat = flat_board(rgb, px_per_mm)
    finds = find_flaws(flat, None)
    shapes = [shapely.Polygon(f.outline_mm) for f in finds]
    high, wide = rgb.shape[0] / px_per_mm, rgb.shape[1] / px_per_mm
    marks, area = [], 0.0
    for line in path.with_suffix(".txt").read_text().splitlines():
        kind, x, y, w, h = (float(v) for v in line.split())
        own = w * wide * h * high
        area += own
        at = shapely.Point(x * wide, y * high)
        hits = [
            (f.kind, s.area / max(own, 1e-9)) for f, s in zip(finds, shapes, strict=True) if s.contains(at)
        ]
        good = [hit for hit in hits if hit[1] <= 4]
        if w * wide * px_per_mm < 8 and h * high * px_per_mm < 8:
            continue  # slips of the mouse are not learnt and not judged here
        best = (good or hits or [("-", 0.0)])[0]
        marks.append((int(kind), bool(good), best[0], best[1]))
    return marks, sum(s.area for s in shapes), area, float(flat.wood.sum()) / px_per_mm**2, list(finds), rgb


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--px-per-mm", type=float, default=2.0)
    parser.add_argument("--pictures", type=Path)
    given = parser.parse_args()
    met, count, named = np.zeros(8, int), np.zeros(8, int), np.zeros(8, int)
    over = []
    for i, path in enumerate(sorted(given.folder.glob("*.jpg"))):
        if (i // BLOCK) % 5 != 2:
            continue
        marks, finds_mm2, marks_mm2, board_mm2, finds, rgb = score(path, given.px_per_mm)
        for kind, good, name, ratio in marks:
            count[kind] += 1
            met[kind] += good
            named[kind] += good and name == "knot"
            if not good:
                print(path.stem, CLASSES[kind], name, f"{ratio:.1f}")
        if finds_mm2 > 2 * marks_mm2 + 0.02 * board_mm2:
            over.append(path.stem)
        if given.pictures:
            draw(path, finds, rgb, given.px_per_mm, given.pictures)
    for kind, name in enumerate(CLASSES):
        print(f"{name:16s} {met[kind]:3d} of {count[kind]:3d}   named knot {named[kind]}")
    knots = sum(met[k] for k in KNOTS), sum(count[k] for k in KNOTS)
    print(f"knots {knots[0]} of {knots[1]}; finds too large on {len(over)} boards {over}")


def draw(path: Path, finds: list[Flaw], rgb: np.ndarray, px_per_mm: float, folder: Path) -> None:
    """The picture with the marks (white) and the finds (a colour for each kind)."""
    colours = {"knot": (0, 0, 255), "pitch": (0, 200, 0), "crack": (255, 0, 0), "stain": (255, 200, 0)}
    bgr = cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR)
    high, wide = bgr.shape[:2]
    for line in path.with_suffix(".txt").read_text().splitlines():
        _, x, y, w, h = (float(v) for v in line.split())
        first = (int((x - w / 2) * wide), int((y - h / 2) * high))
        cv2.rectangle(bgr, first, (int((x + w / 2) * wide), int((y + h / 2) * high)), (255, 255, 255), 2)
    for f in finds:
        line_px = (f.outline_mm * px_per_mm).astype(np.int32)
        colour = colours.get(f.kind, (255, 0, 255))
        cv2.polylines(bgr, [line_px], True, colour, 2)
        cv2.putText(bgr, f"{f.sure:.2f}", tuple(int(v) for v in line_px.min(axis=0)), 0, 0.7, colour, 2)
    folder.mkdir(parents=True, exist_ok=True)
    cv2.imwrite(str(folder / path.name), bgr)


if __name__ == "__main__":
    main()
