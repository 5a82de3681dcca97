"""What spoils a picture of a joint is said in one line each."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from seamlight.demo.seam_light import CandledJoint, Candling, photograph_joint, photograph_lamp
from seamlight.mistake import Mistake
from seamlight.photo import Picture
from seamlight.seam.advice import advise
from seamlight.seam.bench import Bench
from seamlight.seam.light import read_light, read_light_files
from seamlight.seam.meaning import judge_light

S = np.linspace(0.0, 1.0, 1101)
LENGTH = 300.0
HOLLOW = 0.05 + 0.1 * S + 0.2 * np.sin(np.pi * S)
VIEW = Candling(slant_deg=1.3, px_per_mm=4.0, across_mm=50.0)


def shot(gap: np.ndarray, view: Candling = VIEW, **joint: object) -> Picture:
    one = CandledJoint(gap, LENGTH, **joint)  # type: ignore[arg-type]
    return Picture(photograph_joint(one, view, 21).rgb, name="joint.jpg")


def lamp(view: Candling = VIEW) -> Picture:
    return Picture(photograph_lamp(CandledJoint(HOLLOW, LENGTH), view, 21), name="lamp.jpg")


def said(call: Callable[[], object]) -> str:
    with pytest.raises(Mistake) as told:
        call()
    assert "\n" not in str(told.value)
    return str(told.value)


def test_no_light_anywhere_is_no_seam_and_never_closed() -> None:
    dark = shot(0 * S, replace(VIEW, lamp_beyond=False))
    assert "no seam" in said(lambda: read_light([dark], LENGTH))


def test_closed_needs_light_beyond_both_ends() -> None:
    reading = read_light([shot(0 * S)], LENGTH)
    assert reading.touching.all()
    assert any("no light shows" in note for note in reading.warnings)


def test_two_seams() -> None:
    both = shot(HOLLOW, extra_at_mm=12.0)
    assert "two lines" in said(lambda: read_light([both], LENGTH))


@pytest.mark.parametrize("at_mm", [(120.0, 6.0), (200.0, -8.0)])
def test_lamp_in_the_picture(at_mm: tuple[float, float]) -> None:
    assert "lamp itself" in said(lambda: read_light([shot(HOLLOW, replace(VIEW, bulb_at_mm=at_mm))], LENGTH))


def test_overexposed() -> None:
    bright = shot(HOLLOW, replace(VIEW, lamp_level=3.0))
    assert "overexposed" in said(lambda: read_light([bright], LENGTH))


def test_overexposed_lamp_behind_an_unclipped_seam_is_no_mistake() -> None:
    reading = read_light([shot(0.15 * HOLLOW, replace(VIEW, lamp_level=1.6))], LENGTH)
    assert any("too bright" in note for note in reading.warnings)


def test_under_a_finger() -> None:
    covered = shot(HOLLOW, fingers_mm=((130.0, 146.0),))
    words = said(lambda: read_light([covered], LENGTH))
    assert "covers the seam from 13" in words


@pytest.mark.parametrize("finger_mm", [(0.0, 20.0), (280.0, 300.0), (100.0, 190.0)])
def test_under_a_finger_at_an_end_or_under_a_hand(finger_mm: tuple[float, float]) -> None:
    words = said(lambda: read_light([shot(HOLLOW, fingers_mm=(finger_mm,))], LENGTH))
    assert "covers the seam from" in words


def test_a_joint_that_touches_at_an_end_is_under_no_finger() -> None:
    touching = np.clip((S * LENGTH - 40.0) * 0.002, 0.0, 0.3)
    reading = read_light([shot(touching)], LENGTH)
    assert reading.touching[reading.s_mm < 30.0].all()


def test_a_messengers_small_copy_tells_no_width() -> None:
    small = [
        Image.fromarray(one.rgb).resize((600, 88), Image.Resampling.LANCZOS) for one in (shot(HOLLOW), lamp())
    ]
    joint, bare = (
        Picture(np.asarray(one), name=name) for one, name in zip(small, ("a.jpg", "b.jpg"), strict=True)
    )
    words = said(lambda: read_light([joint], LENGTH, shims_mm=(0.05, 0.15), lamp=bare))
    assert "pixels to a millimetre: too coarse to tell how wide" in words
    assert read_light([joint], LENGTH).measured == "relative"


@pytest.mark.parametrize(
    ("gap", "shape"),
    [
        (0.1 + 0 * S, "closed"),
        (0.1 + 0.02 * S + 0.08 * 4 * S * (1 - S), "hollow"),
        (0.1 + 0.08 * (2 * S - 1) ** 2, "hump"),
    ],
)
@pytest.mark.parametrize("uneven", [0.0, 0.2])
def test_like_shims_are_taken_out_before_the_shape_is_told(
    gap: np.ndarray, shape: str, uneven: float
) -> None:
    view = replace(VIEW, uneven=uneven)
    bare = lamp(view) if uneven else None
    reading = read_light([shot(gap, view)], LENGTH, shims_mm=(0.1, 0.1), lamp=bare)
    assert reading.measured == "relative"
    assert any("uneven lamp looks like" in note for note in reading.warnings) == (bare is None)
    meaning = judge_light(reading, Bench())
    assert meaning.shape == shape
    straight = any(line.startswith("straight from end to end") for line in advise(meaning, Bench()))
    assert straight == (shape == "closed")


@pytest.mark.parametrize("shims", [(0.0, 0.15), (0.05, 1.5), (0.005, 0.1)])
def test_what_is_no_shim(shims: tuple[float, float]) -> None:
    assert "tells nothing" in said(lambda: read_light([shot(HOLLOW)], LENGTH, shims_mm=shims))


def test_shims_the_other_way_round() -> None:
    words = said(lambda: read_light([shot(HOLLOW)], LENGTH, shims_mm=(0.15, 0.05), lamp=lamp()))
    assert "the other way round" in words
    assert "neck end" in words


def test_a_line_along_the_border_is_no_seam() -> None:
    dark = (np.random.default_rng(3).random((360, 640, 3)) * 6).astype(np.uint8)
    dark[:, 0:3] = 60
    assert "no seam" in said(lambda: read_light([Picture(dark, name="dark.jpg")], LENGTH))


def test_exposure_changed_between_pictures() -> None:
    other = replace(shot(HOLLOW, replace(VIEW, lamp_level=0.5)), name="second.jpg")
    words = said(lambda: read_light([shot(HOLLOW), other], LENGTH))
    assert "exposure changed between joint.jpg and second.jpg" in words
    words = said(lambda: read_light([other], LENGTH, shims_mm=(0.05, 0.15), lamp=lamp()))
    assert "exposure changed" in words


def test_exposure_changed_as_the_files_say(tmp_path: Path) -> None:
    names = []
    for i, time in enumerate((0.01, 0.02)):
        picture = Image.fromarray(shot(HOLLOW).rgb)
        exif = Image.Exif()
        exif.get_ifd(0x8769).update({0x829A: time, 0x8827: 100, 0x829D: 1.8})
        names.append(tmp_path / f"{i}.jpg")
        picture.save(names[-1], exif=exif)
    assert "exposure changed between 0.jpg and 1.jpg" in said(lambda: read_light_files(names, LENGTH))


def test_hump_higher_than_the_shims() -> None:
    hump = np.clip(0.05 + 0.2 * S - 0.15 * np.exp(-(((S - 0.4) / 0.1) ** 2)), 0.0, None)
    words = said(lambda: read_light([shot(hump)], LENGTH, shims_mm=(0.05, 0.15), lamp=lamp()))
    assert "not seated on both shims" in words


def test_one_end_open_wider_than_its_shim() -> None:
    words = said(lambda: read_light([shot(0.12 + 0.03 * S)], LENGTH, shims_mm=(0.05, 0.15), lamp=lamp()))
    assert "not seated" in words


def test_film_of_the_ceiling() -> None:
    noise = np.random.default_rng(1).normal(0, 3, (360, 640, 3))
    ceiling = np.clip(165 + noise + 15 * np.sin(np.arange(640) / 200)[None, :, None], 0, 255)
    ceiling[:, 300:304] -= 25
    frames = [Picture(ceiling.astype(np.uint8), name=f"frame {i}") for i in range(4)]
    assert "no seam in 4" in said(lambda: read_light(frames, LENGTH, film="ceiling.mp4"))


def test_file_that_is_no_film(tmp_path: Path) -> None:
    path = tmp_path / "x.mp4"
    path.write_bytes(b"not a film at all")
    assert "no film" in said(lambda: read_light_files([path], LENGTH))


def test_joint_running_out_of_the_picture() -> None:
    whole = shot(HOLLOW, replace(VIEW, lamp_beyond=False))
    cut = Picture(np.ascontiguousarray(whole.rgb[:, 200:]), name="cut.jpg")
    assert "out of the picture" in said(lambda: read_light([cut], LENGTH))


def test_length_must_be_known() -> None:
    assert "how long" in said(lambda: read_light([shot(HOLLOW)], None))
