"""Light through rendered joints read back: the fixed table, films, touching places, angles."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from seamlight.demo.seam_cases import CASES, FIRST_SEED, LENGTH_MM, SeamCase
from seamlight.demo.seam_light import (
    CandledJoint,
    Candling,
    film_joint,
    photograph_joint,
    photograph_lamp,
    write_film,
)
from seamlight.photo import Picture
from seamlight.seam.light import read_light, read_light_files
from seamlight.seam.light_reading import LightReading

S = np.linspace(0.0, 1.0, 1101)


def read(case: SeamCase) -> tuple[LightReading, np.ndarray]:
    joint = case.joint()
    shot = photograph_joint(joint, case.candling, case.seed)
    lamp = Picture(photograph_lamp(joint, case.candling, case.seed), name="lamp")
    neck_at = "right" if case.candling.turned else "left"
    reading = read_light(
        [Picture(shot.rgb, name=case.name)], LENGTH_MM, shims_mm=case.shims_mm, lamp=lamp, neck_at=neck_at
    )
    return reading, joint.gap_at(reading.s_mm)


def off(reading: LightReading, truth: np.ndarray) -> np.ndarray:
    """Error over what is allowed: 0.005 mm or 5 %, whichever is larger."""
    assert reading.gap_mm is not None
    return np.abs(reading.gap_mm - truth) / np.maximum(0.005, 0.05 * truth)


def test_table_stands_on_seeds_kept_from_tuning() -> None:
    assert all(case.seed >= FIRST_SEED for case in CASES)
    assert len({case.seed for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_gap_in_millimetres(case: SeamCase) -> None:
    reading, truth = read(case)
    assert reading.measured == "width"
    assert reading.lower_bound
    assert off(reading, truth).max() <= 1.0
    # and what the reading says of itself holds
    assert reading.gap_mm is not None
    assert np.all(np.abs(reading.gap_mm - truth) <= reading.error_at_mm(truth))


def test_a_small_coarse_copy_says_its_larger_doubt() -> None:
    case = CASES[0]
    joint = case.joint()
    shots = [
        photograph_joint(joint, case.candling, case.seed).rgb,
        photograph_lamp(joint, case.candling, case.seed),
    ]
    joint_jpeg, lamp_jpeg = (Picture(messengers_copy(one), name="copy") for one in shots)
    reading = read_light([joint_jpeg], LENGTH_MM, shims_mm=case.shims_mm, lamp=lamp_jpeg)
    truth = joint.gap_at(reading.s_mm)
    assert reading.gap_mm is not None
    assert reading.error_mm is not None
    assert reading.error_mm >= 0.02
    assert np.all(np.abs(reading.gap_mm - truth) <= reading.error_at_mm(truth))
    assert any("pixels to a millimetre" in note for note in reading.warnings)


def messengers_copy(rgb: np.ndarray) -> np.ndarray:
    """1600 px wide, JPEG quality 70."""
    picture = Image.fromarray(rgb)
    held = io.BytesIO()
    size = (1600, round(1600 * picture.height / picture.width))
    picture.resize(size, Image.Resampling.LANCZOS).save(held, "JPEG", quality=70)
    return np.asarray(Image.open(held).convert("RGB"))


@pytest.mark.parametrize("at", [0.3, 0.62])
def test_touching_place_is_found_within_3_mm(at: float) -> None:
    away = np.abs(S - at) * LENGTH_MM
    gap = np.clip((away - 20.0) * 0.003, 0.0, 0.12)
    shot = photograph_joint(CandledJoint(gap, LENGTH_MM), Candling(slant_deg=1.7, tone="contrast"), 121)
    reading = read_light([Picture(shot.rgb, name="p")], LENGTH_MM)
    assert reading.measured == "relative"
    assert reading.gap_mm is None
    touch = reading.s_mm[reading.touching]
    true = reading.s_mm[shot.joint.gap_at(reading.s_mm) < 0.01]
    assert touch.min() == pytest.approx(true.min(), abs=3.0)
    assert touch.max() == pytest.approx(true.max(), abs=3.0)


def test_neck_end_comes_first_whichever_way_the_picture_lies() -> None:
    gap = np.linspace(0.02, 0.2, 1101)
    view = Candling(px_per_mm=4.0)
    left = photograph_joint(CandledJoint(gap, 300.0), view, 122)
    right = photograph_joint(CandledJoint(gap, 300.0), replace(view, turned=True), 122)
    one = read_light([Picture(left.rgb, name="l")], 300.0)
    other = read_light([Picture(right.rgb, name="r")], 300.0, neck_at="right")
    assert one.light[-1] > 3 * one.light[0]
    assert other.light == pytest.approx(one.light, abs=0.03)
    assert other.ends_px[0][0] > other.ends_px[1][0]


def test_straight_picture_holds_the_line_level() -> None:
    gap = np.full(1101, 0.1)
    shot = photograph_joint(CandledJoint(gap, 300.0), Candling(px_per_mm=4.0, slant_deg=31.0), 123)
    straight = read_light([Picture(shot.rgb, name="p")], 300.0).straight
    rows = straight[..., 1].argmax(axis=0)[8:-8]
    assert np.ptp(rows) <= 2


def test_clicked_ends_are_taken() -> None:
    gap = np.full(1101, 0.1)
    shot = photograph_joint(CandledJoint(gap, 300.0), Candling(px_per_mm=4.0, lamp_beyond=False), 124)
    reading = read_light([Picture(shot.rgb, name="p")], 300.0, ends_px=[shot.ends_px])
    assert reading.ends_px[0] == pytest.approx(shot.ends_px[0], abs=4.0)


def test_film_through_the_plane_sees_what_one_frame_hides(tmp_path: Path) -> None:
    gap = 0.05 + 0.1 * S + 0.1 * np.sin(np.pi * S)
    view = Candling(px_per_mm=3.3, slant_deg=1.0, across_mm=40.0)
    joint = CandledJoint(gap, 400.0)
    frames = film_joint(joint, view, 125, np.linspace(-5.0, 5.0, 9))
    path = tmp_path / "joint.mp4"
    write_film(path, frames)
    film = read_light_files([path], 400.0, shims_mm=(0.05, 0.15))
    assert not film.lower_bound
    assert off(film, joint.gap_at(film.s_mm)).max() <= 1.3
    single = read_light([Picture(frames[0], name="first")], 400.0)
    assert single.lower_bound
    assert single.light.mean() < 0.8 * film.light.mean()
