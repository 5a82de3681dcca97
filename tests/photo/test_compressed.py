"""Sizes that survive the saving: JPEG, WebP and HEIC as phones and messengers press them, by bench.

Asserted is what is reported, not where the scale alone would put the leaf's ends. The seeds were not used
while the reader was made.
"""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
import pytest
import shapely
from PIL import Image
from test_lay_flat import edge_errors_mm

from seamlight.demo import phone
from seamlight.demo.shot import Shot
from seamlight.demo.truth import FaceTruth
from seamlight.grain.assemble import read_leaf
from seamlight.mistake import Mistake
from seamlight.photo import FlatLeaf, Picture, lay_flat, open_picture, parse_scale

pillow_heif.register_heif_opener()

THICKNESS_MM = 4.5
QUICK = {"preset": "ultrafast"}  # of the HEIC encoder; its slow ones take minutes


# species, bench, seed of the shot
DARK = ("western redcedar", "dark", 8301)
GREEN = ("western redcedar", "green", 8302)
BLACK = ("Engelmann spruce", "black", 8303)
LIGHT = ("black walnut", "light", 8304)
# how it was saved: suffix and quality, tint kept at half the pixels either way (4:2:0)
SAVED = (
    (DARK, "jpg", 85),
    (DARK, "jpg", 75),
    (DARK, "webp", 80),
    (DARK, "heic", 60),
    (GREEN, "jpg", 75),
    (GREEN, "webp", 80),
    (BLACK, "jpg", 85),
    (BLACK, "jpg", 75),
    (LIGHT, "jpg", 75),
    (LIGHT, "webp", 80),
)
COPIES = ((DARK, 1600, 60), (DARK, 2048, 75), (GREEN, 1600, 60), (BLACK, 1600, 60), (LIGHT, 1600, 60))


def _named(part: object) -> str:
    return " ".join(map(str, part[:2])) if isinstance(part, tuple) else str(part)


@cache
def _shot(face: FaceTruth, bench: str, seed: int) -> Shot:
    return phone.photograph(face, seed, bench=bench, tilt_deg=6.0, lift_mm=THICKNESS_MM)


def read_back(shot: Shot, path: Path, quality: int, side_px: int | None = None) -> FlatLeaf:
    """The shot saved with 4:2:0 tint, perhaps made smaller first, and laid flat."""
    picture = Image.fromarray(shot.rgb)
    if side_px is not None:
        ratio = side_px / max(picture.size)
        picture = picture.resize(
            (round(picture.width * ratio), round(picture.height * ratio)), Image.Resampling.LANCZOS
        )
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = round(shot.focal_35mm)
    how: dict[str, object] = {".jpg": {"subsampling": 2}, ".heic": {"enc_params": QUICK}}.get(path.suffix, {})
    picture.save(path, quality=quality, exif=exif, **how)
    (flat,) = lay_flat(open_picture(path), parse_scale("tags=150"), THICKNESS_MM)
    return flat


def true_length_mm(face: FaceTruth) -> float:
    """From the farthest place of one rough end to that of the other, as the leaf frame has it."""
    return float(np.ptp(face.outline_mm[:, 1]))


@pytest.mark.parametrize(("scene", "suffix", "quality"), SAVED, ids=_named)
def test_the_reported_size_is_within_half_a_millimetre(grown, tmp_path, scene, suffix, quality):
    species, bench, seed = scene
    face = grown(species)[seed % 2]
    shot = _shot(face, bench, seed)
    flat = read_back(shot, tmp_path / f"leaf.{suffix}", quality)
    assert flat.length_mm == pytest.approx(true_length_mm(face), abs=0.5)
    ends = sorted([flat.width_end1_mm, flat.width_end2_mm])
    assert ends == pytest.approx(sorted([face.width_end1_mm, face.width_end2_mm]), abs=0.5)
    assert np.percentile(edge_errors_mm(face, shot, flat), 90) < 0.35
    assert flat.scale.error_mm < 0.7


@pytest.mark.parametrize(("scene", "side_px", "quality"), COPIES, ids=_named)
def test_the_stated_error_covers_what_a_small_copy_does(grown, tmp_path, scene, side_px, quality):
    species, bench, seed = scene
    face = grown(species)[seed % 2]
    flat = read_back(_shot(face, bench, seed), tmp_path / "copy.jpg", quality, side_px)
    assert abs(flat.length_mm - true_length_mm(face)) < flat.scale.error_mm < 8
    assert "only sure to" in "".join(flat.warnings) or flat.scale.error_mm < 2
    ends = sorted([flat.width_end1_mm, flat.width_end2_mm])
    truth = sorted([face.width_end1_mm, face.width_end2_mm])
    assert ends == pytest.approx(truth, abs=flat.scale.error_mm)


def test_a_picture_blown_up_reads_as_it_was(grown, tmp_path):
    """25 megapixels out of 4: the edge is soft, and no farther out."""
    face = grown("western redcedar")[0]
    shot = phone.photograph(face, 8311, bench="dark", tilt_deg=6.0, lift_mm=THICKNESS_MM, megapixels=4)
    flat = read_back(shot, tmp_path / "large.jpg", 75, 5772)
    assert flat.length_mm == pytest.approx(true_length_mm(face), abs=0.5)


@pytest.mark.parametrize("left_too", [False, True], ids=["one sheet", "both sheets"])
def test_a_sheet_half_out_of_the_picture_is_named(grown, tmp_path, left_too):
    """A doubt of millimetres is said or refused, never left to a figure in the document."""
    face = grown("western redcedar")[0]
    sheets = (phone.SheetAt(-235, -140, 0, 1), phone.SheetAt(235, 140, 0, 2))
    shot = phone.photograph(face, 8321, targets=sheets, tilt_deg=6.0, lift_mm=THICKNESS_MM, megapixels=8)
    left, _, right, _ = shapely.Polygon(shot.leaf_to_px(face.outline_mm)).bounds
    middles = np.array([corners[:, 0].mean() for corners in shot.tags.values()])
    start = round(float(np.mean(middles[middles < left]))) if left_too else 0
    stop = round(float(np.mean(middles[middles > right])))
    path = tmp_path / "cut.jpg"
    Image.fromarray(np.ascontiguousarray(shot.rgb[:, start:stop])).save(path, quality=92)
    try:
        (flat,) = lay_flat(open_picture(path), parse_scale("tags=150"), THICKNESS_MM)
    except Mistake as mistake:
        said = str(mistake)
        assert left_too
    else:
        said = "\n".join(flat.warnings)
        assert abs(flat.length_mm - true_length_mm(face)) < flat.scale.error_mm
        assert flat.scale.error_mm < 2 or "only sure to" in said
    assert "the picture cuts off target sheet" in said
    assert "target sheet 2 at its right side" in said
    assert ("target sheet 1 at its left side" in said) == left_too
    assert "step back" in said


def test_what_is_missing_inside_a_jpeg_is_said_in_one_line(tmp_path, capfd):
    """Half a JPEG with its end marker put back: the decoder fills the rest with grey."""
    noisy = np.random.default_rng(8331).integers(0, 255, (400, 600, 3), dtype=np.uint8)
    whole = io.BytesIO()
    Image.fromarray(noisy).save(whole, "JPEG", quality=90)
    path = tmp_path / "half.jpg"
    path.write_bytes(whole.getvalue()[: len(whole.getvalue()) // 2] + b"\xff\xd9")
    with pytest.raises(Mistake, match="cut short"):
        open_picture(path)
    assert capfd.readouterr().err == ""


def test_black_and_blurred_are_said(grown):
    face = grown("western redcedar")[0]
    shot = phone.photograph(face, 8341, tilt_deg=6.0, lift_mm=THICKNESS_MM, targets=0, megapixels=4)
    for scale in ("tags", "4px/mm"):
        with pytest.raises(Mistake, match="all black"):
            lay_flat(Picture(np.asarray(shot.rgb // 64, np.uint8)), parse_scale(scale), THICKNESS_MM)
    soft = np.asarray(cv2.GaussianBlur(shot.rgb, (0, 0), 8), np.uint8)
    for rgb, blurred in ((shot.rgb, False), (soft, True)):
        (flat,) = lay_flat(Picture(rgb), parse_scale("4px/mm"), THICKNESS_MM)
        assert any("the picture is blurred" in said for said in flat.warnings) == blurred


def test_no_spacing_is_read_from_a_small_copy(grown, tmp_path):
    """Rings of 1.2 mm at 1.9 px to the mm would be counted two at a time."""
    face = grown("western redcedar")[DARK[2] % 2]
    reading = read_leaf(read_back(_shot(face, *DARK[1:]), tmp_path / "copy.jpg", 60, 1600))
    thirds = reading.spacing_mm
    assert (thirds.left, thirds.middle, thirds.right) == (None, None, None)
    assert np.isnan(reading.field.spacing_mm).all()
    assert any("use the original photograph" in said for said in reading.warnings)
