"""Mirror seams of a published veneer.

Source: rosewood veneer laid as mirrored strips, Poly Haven, CC0; seams read off the picture by its keepers
(data/README.md), px.
"""

from pathlib import Path

import cv2
import numpy as np
import pytest

from seamlight.layout.mirror import best_mirror_line, mirror_lines
from seamlight.photo import FlatLeaf, Scale

SEAMS_PX = np.array([90, 169, 250, 330, 411, 488, 564, 643, 723, 804, 885, 961])
REACH_PX, SLIP_PX = 36, 24  # strips are 80 px wide and were laid up to 18 px off along the grain


@pytest.fixture(scope="module")
def veneer(shared_data: Path) -> FlatLeaf:
    bgr = cv2.imread(str(shared_data / "figure" / "rosewood_veneer1_diff_1k.jpg"))
    height, width = bgr.shape[:2]
    outline = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    wood = np.ones((height, width), bool)
    scale = Scale("px", 1.0, 0.0)
    return FlatLeaf(
        np.ascontiguousarray(bgr[..., ::-1]), wood, 1.0, outline, (), height, width, width, scale, None
    )


def test_every_seam_is_found_and_nothing_else(veneer: FlatLeaf) -> None:
    found = np.array([line.x_mm for line in mirror_lines(veneer, REACH_PX, SLIP_PX)])
    assert len(found) == len(SEAMS_PX)
    assert np.abs(found - SEAMS_PX).max() <= 1.5


def test_strips_laid_level_are_found_without_sliding(veneer: FlatLeaf) -> None:
    found = np.array([line.x_mm for line in mirror_lines(veneer, REACH_PX)])
    assert len(found) >= 10
    assert all(np.abs(SEAMS_PX - x).min() <= 1.5 for x in found)


def test_the_best_mirror_stands_on_a_seam(veneer: FlatLeaf) -> None:
    best = best_mirror_line(veneer, REACH_PX, SLIP_PX)
    assert best is not None
    assert best.likeness > 0.7
    assert np.abs(SEAMS_PX - best.x_mm).min() <= 1.5
