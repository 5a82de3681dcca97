"""Ring borders of published increment cores.

Sources: 001.png, incline.png, arc.png: MtreeRing (R package, GPL-3), 001.png at 1200 dpi with borders 16 to
25 as its authors published them (README-img001.png), all 25 read again in 001_borders.csv. P105_a.tif,
P105_c.tif: measuRing (R package, GPL-3), 1000 dpi; P105_c has a dark crack near column 1297 that is no ring.
"""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np

from seamlight.grain import ring_borders

PX_PER_MM_1200_DPI = 1200 / 25.4
PX_PER_MM_1000_DPI = 1000 / 25.4
BETWEEN_READINGS_PX = 3.5  # the two published readings differ by up to 3 px


def borders(folder: Path) -> list[dict[str, str]]:
    lines = (folder / "rings" / "001_borders.csv").read_text().splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def read(folder: Path, name: str, px_per_mm: float) -> np.ndarray:
    gray = cv2.imread(str(folder / "rings" / name), cv2.IMREAD_GRAYSCALE)
    return ring_borders(gray, px_per_mm)


def test_all_25_borders_and_no_more(shared_data: Path) -> None:
    known = np.array([float(row["px"]) for row in borders(shared_data)])
    found = read(shared_data, "001.png", PX_PER_MM_1200_DPI)
    assert len(found) == len(known) == 25
    assert np.abs(found - known).max() <= BETWEEN_READINGS_PX


def test_widths_within_0_06_mm_of_the_mean_of_two_readings(shared_data: Path) -> None:
    rows = borders(shared_data)
    px = np.array([float(row["px"]) for row in rows])
    found = np.diff(read(shared_data, "001.png", PX_PER_MM_1200_DPI)) / PX_PER_MM_1200_DPI
    ours = np.diff(px) / PX_PER_MM_1200_DPI
    published = {
        k: float(row["published_mm_width"]) for k, row in enumerate(rows) if row["published_mm_width"]
    }
    assert len(published) == 10
    for k, width in published.items():
        assert abs(found[k - 1] - (width + ours[k - 1]) / 2) <= 0.06


def test_slanted_rings_are_all_found(shared_data: Path) -> None:
    """Counted by eye on the picture: 16 dark lines, the last two thin ones 0.35 mm apart."""
    found = read(shared_data, "incline.png", PX_PER_MM_1200_DPI)
    assert len(found) == 16
    assert 0.2 < np.diff(found).min() / PX_PER_MM_1200_DPI < 1.0


def test_rings_left_of_the_pith(shared_data: Path) -> None:
    """Counted by eye along the middle row, left of where the rings lie flat."""
    found = read(shared_data, "arc.png", PX_PER_MM_1200_DPI)
    by_eye = np.array([17, 88, 145, 219, 301, 369])
    assert len(found[found < 400]) == len(by_eye)
    assert np.abs(found[found < 400] - by_eye).max() < 12


def test_a_crack_is_no_ring(shared_data: Path) -> None:
    found = read(shared_data, "P105_c.tif", PX_PER_MM_1000_DPI)
    assert np.abs(found - 1293).min() > 20
    # its neighbours are rings
    assert np.abs(found - 1263).min() < 4
    assert np.abs(found - 1341).min() < 4


def test_very_tight_rings(shared_data: Path) -> None:
    """No numbers are published: the count along the core stays near what the eye counts, 50 to 65."""
    assert 50 <= len(read(shared_data, "P105_a.tif", PX_PER_MM_1000_DPI)) <= 65
