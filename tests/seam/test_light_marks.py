"""Ends and middles that a person marks: in each of several pictures, and in a film's first frame."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from seamlight.demo.seam_light import CandledJoint, Candling, film_joint, photograph_joint, write_film
from seamlight.mistake import Mistake
from seamlight.photo import Picture
from seamlight.seam.clicks import parse_ends, parse_middles
from seamlight.seam.length import parse_joint_length
from seamlight.seam.light import read_light, read_light_files
from seamlight.seam.light_track import carried

S = np.linspace(0.0, 1.0, 1101)
LENGTH = 300.0
GAP = 0.05 + 0.1 * S + 0.1 * np.sin(np.pi * S)
VIEW = Candling(px_per_mm=3.3, slant_deg=1.0, across_mm=60.0)
TWO = CandledJoint(GAP, LENGTH, extra_at_mm=12.0)


def test_each_picture_has_its_own_marks() -> None:
    shots = [photograph_joint(TWO, VIEW, 31), photograph_joint(TWO, replace(VIEW, slant_deg=-2.0), 31)]
    pictures = [Picture(shot.rgb, name=f"p{i}") for i, shot in enumerate(shots)]
    with pytest.raises(Mistake, match="two lines of light"):
        read_light(pictures, LENGTH)
    with pytest.raises(Mistake, match="two lines of light"):
        read_light(pictures, LENGTH, ends_px=[shots[0].ends_px])
    reading = read_light(pictures, LENGTH, ends_px=[shot.ends_px for shot in shots])
    alone = read_light([Picture(photograph_joint(CandledJoint(GAP, LENGTH), VIEW, 31).rgb, name="q")], LENGTH)
    assert reading.light == pytest.approx(alone.light, abs=0.02)
    assert not reading.lower_bound


def test_marks_say_where_the_neck_is_in_the_pictures_without_any() -> None:
    shots = [
        photograph_joint(CandledJoint(GAP, LENGTH), replace(VIEW, turned=True), seed) for seed in (32, 33)
    ]
    pictures = [Picture(shot.rgb, name=f"p{i}") for i, shot in enumerate(shots)]
    assert shots[0].ends_px[0][0] > shots[0].ends_px[1][0]
    reading = read_light(pictures, LENGTH, ends_px=[None, shots[1].ends_px])
    assert reading.light[-1] > 1.5 * reading.light[0]
    assert reading.light == pytest.approx(read_light(pictures, LENGTH, neck_at="right").light, abs=0.02)


def test_a_films_first_frame_is_marked_and_the_hand_need_not_be_steady(tmp_path: Path) -> None:
    frames = film_joint(TWO, VIEW, 34, np.linspace(-4.0, 4.0, 7))
    dice = np.random.default_rng(35)
    high, wide = frames[0].shape[:2]
    moved, ends = [], None
    for i, frame in enumerate(frames):
        turn = cv2.getRotationMatrix2D((wide / 2, high / 2), float(dice.normal(0, 0.4)), 1.0)
        turn[:, 2] += np.array([25 * np.sin(i), 12 * np.cos(1.3 * i)])
        moved.append(cv2.warpAffine(frame, turn, (wide, high), borderMode=cv2.BORDER_REPLICATE))
        if i == 0:
            single = film_joint(CandledJoint(GAP, LENGTH), VIEW, 34, [-4.0])[0]
            plain = cv2.warpAffine(single, turn, (wide, high), borderMode=cv2.BORDER_REPLICATE)
            ends = read_light([Picture(np.asarray(plain, np.uint8), name="one")], LENGTH).ends_px
    path = tmp_path / "joint.mp4"
    write_film(path, [np.asarray(frame, np.uint8) for frame in moved])
    with pytest.raises(Mistake, match="two lines of light"):
        read_light_files([path], LENGTH)
    reading = read_light_files([path], LENGTH, ends_px=[ends])
    best = read_light([Picture(film_joint(CandledJoint(GAP, LENGTH), VIEW, 34, [0.0])[0], name="b")], LENGTH)
    assert reading.light == pytest.approx(best.light, abs=0.06)  # a film's coding eats some of the light
    assert not reading.lower_bound


def test_a_place_is_carried_as_the_frame_moved() -> None:
    first = photograph_joint(TWO, VIEW, 39)
    high, wide = first.rgb.shape[:2]
    turn = cv2.getRotationMatrix2D((wide / 2, high / 2), 0.8, 1.0)
    turn[:, 2] += (31.0, -14.0)
    second = cv2.warpAffine(first.rgb, turn, (wide, high), borderMode=cv2.BORDER_REPLICATE)
    found = carried(
        first.ends_px, Picture(first.rgb, name="1"), Picture(np.asarray(second, np.uint8), name="2")
    )
    truth = np.array(first.ends_px) @ turn[:, :2].T + turn[:, 2]
    assert np.array(found) == pytest.approx(truth, abs=1.0)


def test_marks_cannot_be_followed_into_another_scene() -> None:
    first = Picture(photograph_joint(TWO, VIEW, 36).rgb, name="frame 1")
    noise = np.random.default_rng(1).integers(0, 255, first.rgb.shape, dtype=np.uint8)
    frames = [first, *(Picture(noise, name=f"frame {i}") for i in range(2, 6))]
    with pytest.raises(Mistake, match="cannot be followed") as told:
        read_light(frames, LENGTH, ends_px=[photograph_joint(TWO, VIEW, 36).ends_px], film="joint.mp4")
    assert "\n" not in str(told.value)


def test_a_middle_for_each_picture() -> None:
    shots = [photograph_joint(CandledJoint(GAP, LENGTH), VIEW, seed) for seed in (37, 38)]
    pictures = [Picture(shot.rgb, name=f"p{i}") for i, shot in enumerate(shots)]
    x, y = np.mean(shots[0].ends_px, axis=0)
    plain = read_light(pictures, LENGTH)
    marked = read_light(pictures, LENGTH, middle_px=[(x, y), (x, y)])
    assert marked.light == pytest.approx(plain.light, abs=0.02)
    with pytest.raises(Mistake, match="more pictures"):
        read_light(pictures, LENGTH, middle_px=[(x, y)] * 3)


def test_marks_as_text() -> None:
    one, other = ((1.0, 2.0), (300.0, 4.0)), ((5.0, 6.0), (310.0, 8.0))
    assert parse_ends("1,2 300,4; 5,6 310,8", 2) == (one, other)
    assert parse_ends("1,2,300,4 - 5 6 310 8", 3) == (one, None, other)
    assert parse_ends("", 2) == ()
    assert parse_middles("- 7,8", 2) == (None, (7.0, 8.0))
    for text, pictures, says in (
        ("1,2 300", 1, "two places"),
        ("1,2 300,4 5,6 310,8", 1, "more pictures"),
        ("1,2 1,2", 1, "same place"),
        ("a,2 3,4", 1, "two places"),
        ("1,2 - 3,4", 2, "two places"),
    ):
        with pytest.raises(Mistake, match=says):
            parse_ends(text, pictures)


def test_a_length_or_tags() -> None:
    assert parse_joint_length('21 5/8"') == (pytest.approx(549.275), None)
    assert parse_joint_length(" ") == (None, None)
    assert parse_joint_length("22", "inch")[0] == pytest.approx(558.8)
    tags = parse_joint_length("Tags=145,5")[1]
    assert tags is not None
    assert tags.bar_mm == 145.5
    for text in ("tagged", "tags=90", "long"):
        with pytest.raises(Mistake):
            parse_joint_length(text, where="length")
