"""The printed stepped slit photographed: from the sheet's own PDF to the figures, by others' tools.

Poppler sets the page in dots as a printer does; a printed page, lamp, lens, sensor and JPEG follow here with
SciPy and Pillow, sharing nothing with the reader or with the demo's renderer: toner that spreads, a lens's
blur with two spreads, an oblique view, an uneven lamp, grain, a gamma with a shoulder.
"""

from __future__ import annotations

import io
import shutil
import subprocess

import cv2
import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import gaussian_filter, zoom

from seamlight.photo import Picture
from seamlight.seam.light import read_light
from seamlight.seam.light_reading import LightReading
from seamlight.sheets.light_stand import sheet_light_stand
from seamlight.sheets.page import PAPER_MM
from seamlight.sheets.slit_target import SHIMS_MM, SLIT_MM, STEP_DOTS, STEP_MM, slit_place, widths_mm

PRINTER_DPI = 1200
AROUND_MM = (70.0, 248.0)  # of the page, across and along, in the picture
PX_PER_MM = 5.0
FINER = 4
BLACK = 0.004  # of the paper's light through the toner


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    """(h, w) light through the page around the slit, 1 where there is no toner, in printer's dots."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm sets the page in dots; it is in poppler-utils")
    path = tmp_path_factory.mktemp("slit") / "stand.pdf"
    sheet_light_stand(path)
    page = PAPER_MM["a4"]
    straight, top = slit_place(page)
    per_mm = PRINTER_DPI / 25.4
    left, upper = straight - AROUND_MM[0] / 2, page[1] - top - (AROUND_MM[1] - SLIT_MM) / 2
    box = (left, upper, *AROUND_MM)
    crop = [
        f"-{name}={value}" for name, value in zip("xyWH", (round(mm * per_mm) for mm in box), strict=True)
    ]
    options = ["-r", str(PRINTER_DPI), "-f", "3", "-l", "3", "-gray", "-aa", "no", "-aaVector", "no"]
    command = ["pdftoppm", *options, *(part for one in crop for part in one.split("=")), str(path)]
    done = subprocess.run(command, capture_output=True, check=True)
    return np.asarray(Image.open(io.BytesIO(done.stdout)).convert("L"), np.uint8)


def spread(printed: np.ndarray, dots: int = 0) -> np.ndarray:
    """(h, w) 1 where there is toner; so many printer's dots of it more over each slit."""
    toner = (printed < 128).astype(np.uint8)
    return cv2.dilate(toner, np.ones((1, dots + 1), np.uint8)).astype(np.float32)


def photograph(toner: np.ndarray, seed: int, *, askew_deg: float = 1.1, lamp: bool = False) -> np.ndarray:
    """(h, w, 3) the page before the lamp, or the lamp alone, as a phone writes it."""
    uneven = zoom(np.random.default_rng(seed).uniform(0.88, 1.0, (4, 3)), 120, order=3)
    dice = np.random.default_rng((seed, int(lamp)))
    toner = 0.0 * toner if lamp else toner
    dots = PRINTER_DPI / 25.4
    light = 1.0 - (1.0 - BLACK) * toner
    # gathered on a grid finer than the sensor's, then through an oblique view
    fine = PX_PER_MM * FINER
    size = (round(toner.shape[1] / dots * fine), round(toner.shape[0] / dots * fine))
    seen = cv2.resize(light, size, interpolation=cv2.INTER_AREA)
    turn = cv2.getRotationMatrix2D((size[0] / 2, size[1] / 2), askew_deg, 1.0)
    whole = np.vstack([turn, [0.0, 0.0, 1.0]])
    whole = np.array([[1, 0, 0], [0, 1, 0], [0.0, 2e-7, 1.0]]) @ whole
    seen = cv2.warpPerspective(seen, whole, size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE)
    # a lens: nine tenths a core, one tenth a wide skirt
    seen = 0.9 * gaussian_filter(seen, 0.75 * FINER) + 0.1 * gaussian_filter(seen, 2.6 * FINER)
    high, wide = (side // FINER * FINER for side in seen.shape)
    seen = seen[:high, :wide].reshape(high // FINER, FINER, wide // FINER, FINER).mean(axis=(1, 3))
    bright = cv2.resize(uneven, seen.shape[::-1], interpolation=cv2.INTER_CUBIC)
    electrons = dice.poisson(np.clip(0.62 * seen * bright, 0, None) * 9000)
    linear = np.clip((electrons + dice.normal(0, 6, seen.shape)) / 9000, 0, 1)
    # a phone's tones: a plain power, and a shoulder (logistic) mixed in
    code = linear ** (1 / 2.2)
    code = 0.75 * code + 0.25 * (1 / (1 + np.exp(-7 * (code - 0.5))) - 0.0293) / 0.9414
    rgb = np.clip(np.rint(255 * code[..., None] * np.array([1.0, 0.99, 0.95])), 0, 255).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(rgb).save(held, "JPEG", quality=94)
    return np.asarray(Image.open(held).convert("RGB"), np.uint8)


def steps_read(reading: LightReading) -> np.ndarray:
    """(n,) the gap in the middle of each step."""
    assert reading.gap_mm is not None
    middles = (np.arange(len(STEP_DOTS)) + 0.5) * STEP_MM
    return np.array([np.median(reading.gap_mm[np.abs(reading.s_mm - at) < 8.0]) for at in middles])


def test_the_page_is_set_in_whole_dots(printed: np.ndarray) -> None:
    per_mm = PRINTER_DPI / 25.4
    first = (AROUND_MM[1] - SLIT_MM) / 2
    for number, dots in enumerate(STEP_DOTS):
        row = printed[round((first + (number + 0.5) * STEP_MM) * per_mm)]
        assert np.count_nonzero(row > 128) == 2 * dots  # 1200 dots an inch


def read(toner: np.ndarray, seed: int) -> LightReading:
    """The sheet's picture read as the sheet says, with the lamp's own."""
    return read_light(
        [Picture(photograph(toner, seed), name="slit.jpg")],
        SLIT_MM,
        shims_mm=SHIMS_MM,
        lamp=Picture(photograph(toner, seed, lamp=True), name="lamp.jpg"),
        thickness_mm=0.5,
        neck_at="top",
    )


@pytest.mark.parametrize("seed", [401, 402, 403])
def test_a_photograph_of_the_sheet_reads_its_steps(printed: np.ndarray, seed: int) -> None:
    truth = np.array(widths_mm())
    off = (steps_read(read(spread(printed), seed)) - truth) / np.maximum(0.005, 0.05 * truth)
    assert np.abs(off).max() <= 1.0


def test_toner_that_spreads_is_taken_out_by_the_end_steps(printed: np.ndarray) -> None:
    truth = np.array(widths_mm())
    found = steps_read(read(spread(printed, 1), 404))
    assert np.abs(found - truth).max() <= 0.006  # of 0.021 mm that each slit is narrower than drawn
