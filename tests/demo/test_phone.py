"""Photographs: everything lies where the shot says, and the file says what a phone's would."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps

from seamlight.demo import phone, saw, shop, wood
from seamlight.demo.lens import stand
from seamlight.demo.truth import FaceTruth
from seamlight.mistake import Mistake
from seamlight.photo.target import tag_dictionary


@pytest.fixture(scope="module")
def face() -> FaceTruth:
    return saw.face(saw.saw_pair(wood.grow_log(41, "Engelmann spruce"), 41, chips=1).a, px_per_mm=4.0)


@settings(max_examples=20, deadline=None)
@given(
    tilt=st.floats(0, 25),
    toward=st.floats(0, 360),
    turn=st.floats(-180, 180),
    bend=st.floats(-0.02, 0.02),
    lift=st.floats(0, 6),
)
def test_plane_and_picture_carry_points_both_ways(
    tilt: float, toward: float, turn: float, bend: float, lift: float
) -> None:
    corners = np.array([[0.0, 0.0], [700.0, 0.0], [700.0, 560.0], [0.0, 560.0]])
    camera = stand(corners, 12, False, 26, tilt, toward, turn, bend, 0.04)
    px = camera.to_px(corners, lift)
    assert np.allclose(camera.to_plane(px, lift), corners, atol=1e-6)
    window = (1000, 800, 1400, 1100)
    x, y = camera.plane_map(window, lift)
    exact = camera.to_plane(np.array([[1100.5, 900.5], [1399.5, 1099.5]]), lift)
    assert np.allclose([[x[100, 100], y[100, 100]], [x[299, 399], y[299, 399]]], exact, atol=0.002)


def test_tags_are_found_where_the_shot_says(face: FaceTruth) -> None:
    shot = phone.photograph(face, 5, tilt_deg=18, distortion=-0.015, print_scale=0.97)
    settings_ = cv2.aruco.DetectorParameters()
    settings_.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    finder = cv2.aruco.ArucoDetector(tag_dictionary(), settings_)
    corners, ids, _ = finder.detectMarkers(cv2.cvtColor(shot.rgb, cv2.COLOR_RGB2GRAY))
    assert sorted(ids.ravel()) == sorted(shot.tags)
    # OpenCV counts pixel centres as whole numbers, the shot as halves
    off = np.vstack([found[0] + 0.5 - shot.tags[i] for i, found in zip(ids.ravel(), corners, strict=True)])
    assert np.abs(off.mean(axis=0)).max() < 0.06
    assert np.abs(off).max() < 0.6


def test_the_leaf_is_drawn_where_the_shot_says(face: FaceTruth) -> None:
    shot = phone.photograph(face, 6, bench="black", tilt_deg=10, targets=0, shadow=0.0, noise=0.0)
    edge = np.array([[face.width_mm, y] for y in np.linspace(80, 480, 9)])
    inside, outside = shot.leaf_to_px(edge - np.array([1.0, 0])), shot.leaf_to_px(edge + np.array([2.5, 0]))
    gray = shot.rgb.mean(axis=2)

    def at(points: np.ndarray) -> np.ndarray:
        return gray[points[:, 1].astype(int), points[:, 0].astype(int)]

    assert (at(inside) > 120).all()
    assert (at(outside) < 80).all()
    assert np.allclose(shot.px_to_leaf(shot.leaf_to_px(edge)), edge, atol=1e-6)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_exif_turn_brings_the_picture_upright(tmp_path: Path, orientation: int) -> None:
    small = saw.face(saw.saw_pair(wood.grow_log(2), 2).a, px_per_mm=1.0)
    shot = phone.photograph(small, 1, megapixels=0.3, targets=1)
    path = shot.save(tmp_path / f"turn{orientation}.png", orientation=orientation)
    with Image.open(path) as stored:
        upright = np.asarray(ImageOps.exif_transpose(stored))
    assert np.array_equal(upright, shot.rgb)


def test_the_file_carries_the_focal_length_and_a_scan_its_dpi(tmp_path: Path, face: FaceTruth) -> None:
    shot = phone.photograph(face, 2, megapixels=2, focal_35mm=27)
    with Image.open(shot.save(tmp_path / "shot.jpg")) as stored:
        lens = stored.getexif().get_ifd(0x8769)
    assert lens[0xA405] == 27
    diagonal = np.hypot(*shot.rgb.shape[:2])
    assert shot.focal_px == pytest.approx(27 / np.hypot(24, 36) * diagonal, rel=1e-4)
    scan = phone.scan(face, 3, dpi=100)
    with Image.open(scan.save(tmp_path / "scan.png")) as stored:
        assert stored.info["dpi"][0] == pytest.approx(100, abs=0.1)
    ends = scan.leaf_to_px(np.array([[50.0, 10.0], [50.0, 510.0]]))
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(500 / 25.4 * 100, rel=1e-5)


def test_the_opened_pair_meets_along_the_joint() -> None:
    pair = saw.saw_pair(wood.grow_log(9), 9, taper_mm=14, rough_mm=0.0)
    a, b = saw.face(pair.a, px_per_mm=2.0), saw.face(pair.b, px_per_mm=2.0)
    shot = phone.photograph_pair(a, b, 1, gap_mm=0.0, megapixels=2, targets=0)
    y = np.linspace(20, 540, 5)
    slack = (a.width_end1_mm - a.width_end2_mm) / 2 * y / a.length_mm
    right_of_a = shot.leaf_to_px(np.column_stack([a.width_mm - slack, y]), 0)
    left_of_b = shot.leaf_to_px(np.column_stack([slack, y]), 1)
    assert np.abs(right_of_a - left_of_b).max() < 0.3


def test_an_end_photographed_shows_the_rings_of_the_end() -> None:
    end = saw.end(saw.saw_pair(wood.grow_log(9, lean_deg=10), 9).a, 2)
    shot = phone.photograph_end(end, 4, megapixels=4)
    middle = shot.leaf_to_px(np.array([[107.0, 5.2]]))[0]
    assert shot.rgb[int(middle[1]), int(middle[0])].mean() > 60


def test_unknown_bench_and_lamp_are_refused(face: FaceTruth) -> None:
    with pytest.raises(Mistake, match="bench"):
        phone.photograph(face, 1, megapixels=1, bench="lava")
    with pytest.raises(Mistake, match="lamp"):
        phone.photograph(face, 1, megapixels=1, lamp="moon")


def test_the_shop_is_photographed_one_pair_at_a_time() -> None:
    first = next(iter(shop.scenes(megapixels=1, px_per_mm=1.0)))
    assert first.file_names == ("cedar-1-a.jpg", "cedar-1-b.jpg")
    assert {flaw.kind for flaw in first.faces[0].flaws} == {"knot"}
    stray = next(iter(shop.scenes(("stray",), megapixels=1, px_per_mm=1.0)))
    assert len(stray.shots) == 1
    assert {pair.use for pair in shop.RACK} == {"top", "back"}
    assert {pair.outline for pair in shop.RACK} == {"parlour", "jumbo"}
