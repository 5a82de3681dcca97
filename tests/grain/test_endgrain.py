"""Ring-to-face angle on rendered ends: straight, strongly curved and lying rings, both ends, hardwoods."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from seamlight.demo import saw, wood
from seamlight.demo.cases import END_CASES, end_of, pair_of
from seamlight.grain.endgrain import is_quartered, read_end
from seamlight.mistake import Mistake

# seeds not used in tuning
LOGS = [
    (9301, {"lean_deg": 3.0}),
    (9302, {"lean_deg": 22.0, "pith_mm": 140.0}),
    (9303, {"species": "Engelmann spruce", "lean_deg": 35.0, "pith_mm": 190.0}),
    (9304, {"species": "cherry", "lean_deg": 18.0}),
    (9305, {"species": "black walnut", "lean_deg": 12.0}),
    (9306, {"species": "maple", "lean_deg": 30.0, "pith_side": "right"}),
]
# near the pith the rings lie along the face over a good part of the width
FLAT_LOGS = [
    (9311, {"lean_deg": 42.0, "pith_mm": 135.0}),
    (9312, {"species": "Engelmann spruce", "lean_deg": 38.0, "pith_mm": 115.0, "pith_side": "right"}),
    (9313, {"species": "cherry", "lean_deg": 36.0, "pith_mm": 140.0}),
    (9314, {"species": "maple", "lean_deg": 40.0, "pith_mm": 125.0, "pith_side": "right"}),
]
FLAT_DEG = 25.0


@pytest.mark.parametrize("which", [1, 2])
@pytest.mark.parametrize(("seed", "grow"), LOGS)
def test_angle_along_the_width_is_within_two_degrees(seed: int, grow: dict, which: int) -> None:
    leaf = saw.saw_pair(wood.grow_log(seed, **grow), seed).a
    truth = saw.end(leaf, which)
    read = read_end(truth.rgb, leaf.width_end1_mm if which == 1 else leaf.width_end2_mm, which)
    true = np.interp(read.x_mm, truth.x_mm, truth.ring_to_face_deg)
    known = np.isfinite(read.ring_to_face_deg)
    assert known.mean() > 0.97  # flat or steep
    assert np.abs(read.ring_to_face_deg - true)[known].max() <= 2.0
    width = read.x_mm[0] + read.x_mm[-1]
    thirds = (read.thirds.left, read.thirds.middle, read.thirds.right)
    for k, found in enumerate(thirds):
        part = (read.x_mm >= k * width / 3) & (read.x_mm < (k + 1) * width / 3)
        assert found == pytest.approx(true[part].mean(), abs=2.0)
    left, right = true[: len(true) // 3].mean(), true[-(len(true) // 3) :].mean()
    if abs(left - right) > 4:
        assert read.quartered_edge == ("left" if left > right else "right")


@pytest.mark.parametrize("which", [1, 2])
@pytest.mark.parametrize("name", [case.name for case in END_CASES])
def test_the_table_of_cases(name: str, which: int) -> None:
    leaf, truth = pair_of(name).a, end_of(name, which)
    read = read_end(truth.rgb, leaf.width_end1_mm if which == 1 else leaf.width_end2_mm, which)
    true = np.interp(read.x_mm, truth.x_mm, truth.ring_to_face_deg)
    off = np.abs(read.ring_to_face_deg - true)
    assert np.isfinite(off).mean() > 0.97  # flat or steep
    assert np.nanmax(off) <= 2.0
    third = (read.x_mm / (read.x_mm[0] + read.x_mm[-1]) * 3).astype(int)
    for k, found in enumerate((read.thirds.left, read.thirds.middle, read.thirds.right)):
        assert found == pytest.approx(true[third == k].mean(), abs=2.0)


@pytest.mark.parametrize("which", [1, 2])
@pytest.mark.parametrize(("seed", "grow"), FLAT_LOGS)
def test_rings_that_lie_along_the_face_are_told_too(seed: int, grow: dict, which: int) -> None:
    leaf = saw.saw_pair(wood.grow_log(seed, **grow), seed).a
    truth = saw.end(leaf, which)
    read = read_end(truth.rgb, leaf.width_end1_mm if which == 1 else leaf.width_end2_mm, which)
    true = np.interp(read.x_mm, truth.x_mm, truth.ring_to_face_deg)
    flat = true < FLAT_DEG
    assert flat.mean() > 0.1
    assert np.isfinite(read.ring_to_face_deg[flat]).mean() > 0.97
    off = np.abs(read.ring_to_face_deg - true)
    assert np.nanmax(off) <= 2.0


def test_a_tilted_picture_on_a_light_bench_reads_the_same() -> None:
    leaf = saw.saw_pair(wood.grow_log(9302, lean_deg=22.0, pith_mm=140.0), 9302).a
    truth = saw.end(leaf, 2)
    rgb = np.where(truth.wood[..., None], truth.rgb, np.uint8(232)).astype(np.uint8)
    high, wide = rgb.shape[:2]
    canvas = np.full((high + 300, wide + 160, 3), 232, np.uint8)
    canvas[150 : 150 + high, 80 : 80 + wide] = rgb
    turn = cv2.getRotationMatrix2D((canvas.shape[1] / 2, canvas.shape[0] / 2), 3.0, 0.8)
    canvas = cv2.warpAffine(canvas, turn, canvas.shape[1::-1], borderValue=(232, 232, 232))
    level, tilted = (read_end(picture, leaf.width_end2_mm, 2) for picture in (truth.rgb, canvas))
    for one, other in zip(
        (level.thirds.left, level.thirds.middle, level.thirds.right),
        (tilted.thirds.left, tilted.thirds.middle, tilted.thirds.right),
        strict=True,
    ):
        assert one == pytest.approx(other, abs=1.5)


def test_the_other_end_mirrors() -> None:
    leaf = saw.saw_pair(wood.grow_log(9302, lean_deg=22.0, pith_mm=140.0), 9302).a
    rgb = saw.end(leaf, 2).rgb
    as_two, as_one = read_end(rgb, 215.0, 2), read_end(rgb, 215.0, 1)
    np.testing.assert_allclose(as_two.ring_to_face_deg, as_one.ring_to_face_deg[::-1])
    assert {as_two.quartered_edge, as_one.quartered_edge} == {"left", "right"}


def test_no_rings_give_no_angle() -> None:
    dice = np.random.default_rng(2)
    rgb = np.full((120, 2600, 3), 30, np.uint8)
    rgb[30:84] = dice.normal(150, 8, (54, 2600, 1)).clip(0, 255).astype(np.uint8)
    read = read_end(rgb, 215.0)
    assert np.isnan(read.ring_to_face_deg).all()
    assert read.thirds.left is None
    assert read.quartered_edge is None


@pytest.mark.parametrize("picture", [np.zeros((300, 400, 3), np.uint8), np.full((2, 2, 3), 90, np.uint8)])
def test_a_picture_without_an_end_is_a_mistake(picture: np.ndarray) -> None:
    with pytest.raises(Mistake, match="end"):
        read_end(picture, 215.0)


def test_quartered_is_the_shops_own_threshold() -> None:
    assert is_quartered(62.0)
    assert not is_quartered(58.0)
    assert is_quartered(58.0, from_deg=45.0)
