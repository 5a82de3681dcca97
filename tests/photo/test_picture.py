"""Picture files of every kind come in upright and as 8-bit RGB; what is no picture is said in one line."""

import io
import struct
import zlib

import cv2
import numpy as np
import pillow_heif
import pytest
from PIL import Image

from seamlight.mistake import Mistake
from seamlight.photo import open_picture

pillow_heif.register_heif_opener()

FORMATS = [("JPEG", "jpg"), ("PNG", "png"), ("TIFF", "tif"), ("WEBP", "webp"), ("HEIF", "heic")]


def blocks(height: int = 96, width: int = 160) -> np.ndarray:
    """A picture of coloured blocks that no turn or mirroring leaves the same."""
    few = np.random.default_rng(1).integers(20, 235, (6, 10, 3), dtype=np.uint8)
    return cv2.resize(few, (width, height), interpolation=cv2.INTER_NEAREST)


def stored(upright: np.ndarray, orientation: int) -> np.ndarray:
    """Pixels as a camera stores them that wants them turned by EXIF `orientation` (CIPA DC-008, 0x0112)."""
    flipped = upright.transpose(1, 0, 2) if orientation >= 5 else upright
    rows, columns = {
        1: (1, 1),
        2: (1, -1),
        3: (-1, -1),
        4: (-1, 1),
        5: (1, 1),
        6: (-1, 1),
        7: (-1, -1),
        8: (1, -1),
    }[orientation]
    return np.ascontiguousarray(flipped[::rows, ::columns])


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize(("form", "suffix"), FORMATS)
def test_every_turn_of_every_format_comes_in_upright(tmp_path, form, suffix, orientation):
    upright = blocks()
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / f"leaf.{suffix}"
    lossy = {} if form in ("PNG", "TIFF") else {"quality": 95}
    Image.fromarray(stored(upright, orientation)).save(path, format=form, exif=exif, **lossy)
    got = open_picture(path).rgb
    assert got.shape == upright.shape
    assert np.median(np.abs(got.astype(int) - upright)) <= 3


def test_sixteen_bits_are_scaled_down(tmp_path):
    gray = cv2.cvtColor(blocks(), cv2.COLOR_RGB2GRAY)
    for suffix in ("png", "tif"):
        path = tmp_path / f"gray.{suffix}"
        Image.fromarray(gray.astype(np.uint16) * 257).save(path)
        got = open_picture(path).rgb
        assert np.abs(got.astype(int) - gray[:, :, None]).max() <= 1
    deep = tmp_path / "colour.png"
    cv2.imwrite(str(deep), blocks()[:, :, ::-1].astype(np.uint16) * 257)
    assert np.abs(open_picture(deep).rgb.astype(int) - blocks()).max() <= 1


def test_gray_cmyk_palette_and_clear_pictures_become_rgb(tmp_path):
    colour = Image.fromarray(blocks())
    colour.convert("L").save(tmp_path / "gray.jpg", quality=95)
    colour.convert("CMYK").save(tmp_path / "cmyk.jpg", quality=95)
    colour.quantize(60).save(tmp_path / "palette.png")
    for name in ("gray.jpg", "cmyk.jpg", "palette.png"):
        assert open_picture(tmp_path / name).rgb.shape == (96, 160, 3)
    near = np.abs(open_picture(tmp_path / "cmyk.jpg").rgb.astype(int) - blocks())
    assert np.median(near) <= 6
    clear = np.dstack([blocks(), np.full((96, 160), 255, np.uint8)])
    clear[:48, :, 3] = 0
    Image.fromarray(clear).save(tmp_path / "clear.png")
    got = open_picture(tmp_path / "clear.png").rgb
    assert (got[:48] == 255).all()
    assert (got[48:] == blocks()[48:]).all()


def test_focal_length_from_the_35_mm_equivalent_and_from_the_sensor(tmp_path):
    picture = Image.fromarray(blocks(300, 400))
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    picture.save(tmp_path / "phone.jpg", exif=exif)
    # 500 px diagonal, 43.27 mm diagonal of the 24 x 36 mm frame
    assert open_picture(tmp_path / "phone.jpg").focal_px == pytest.approx(26 * 500 / 43.2666, rel=1e-4)
    exif = Image.Exif()
    lens = exif.get_ifd(0x8769)
    lens[0x920A], lens[0xA20E], lens[0xA210], lens[0xA002] = 5.0, 800.0, 3, 400
    picture.save(tmp_path / "camera.jpg", exif=exif)
    assert open_picture(tmp_path / "camera.jpg").focal_px == pytest.approx(5.0 * 800 / 10, rel=1e-4)
    picture.save(tmp_path / "bare.jpg")
    assert open_picture(tmp_path / "bare.jpg").focal_px is None


def test_dpi_of_a_scan_but_not_a_placeholder(tmp_path):
    picture = Image.fromarray(blocks())
    picture.save(tmp_path / "scan.png", dpi=(600, 600))
    picture.save(tmp_path / "web.png", dpi=(72, 72))
    assert open_picture(tmp_path / "scan.png").dpi == pytest.approx(600, abs=0.1)
    assert open_picture(tmp_path / "web.png").dpi is None


def jpeg(picture: np.ndarray, **how) -> bytes:
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "JPEG", **how)
    return out.getvalue()


def test_what_follows_the_end_of_a_jpeg_does_no_harm(tmp_path):
    path = tmp_path / "moving.jpg"
    path.write_bytes(jpeg(blocks(), quality=95) + b"film" * 500)
    assert open_picture(path).rgb.shape == (96, 160, 3)


def test_a_thumbnails_end_is_not_taken_for_the_pictures(tmp_path):
    whole = jpeg(np.random.default_rng(3).integers(0, 255, (200, 300, 3), dtype=np.uint8), quality=95)
    segment = b"\xff\xe1" + (2 + 200).to_bytes(2, "big") + (b"\xff\xd9" * 100)
    path = tmp_path / "cut.jpg"
    path.write_bytes(whole[:2] + segment + whole[2 : len(whole) // 2])
    with pytest.raises(Mistake, match="cut short"):
        open_picture(path)


@pytest.mark.parametrize(("form", "suffix"), FORMATS)
def test_half_a_file_is_cut_short(tmp_path, form, suffix):
    noisy = np.random.default_rng(2).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    whole = tmp_path / f"whole.{suffix}"
    Image.fromarray(noisy).save(whole, format=form)
    path = tmp_path / f"half.{suffix}"
    path.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    with pytest.raises(Mistake) as caught:
        open_picture(path)
    assert "\n" not in str(caught.value)


def png_header(width: int, height: int) -> bytes:
    """A PNG that says its size and holds nothing else (W3C PNG, 11.2.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


def test_300_megapixels_are_refused_before_decoding(tmp_path):
    path = tmp_path / "huge.png"
    path.write_bytes(png_header(20000, 15000))
    with pytest.raises(Mistake, match="300 megapixels"):
        open_picture(path)


def test_what_is_no_picture_is_said(tmp_path):
    (tmp_path / "notes.jpg").write_text("spruce, 12 sets")
    (tmp_path / "empty.jpg").write_bytes(b"")
    (tmp_path / "dot.png").write_bytes(b"")
    Image.fromarray(blocks()[:1, :2]).save(tmp_path / "dot.png")
    for name, words in (
        ("notes.jpg", "not a picture"),
        ("empty.jpg", "empty"),
        ("dot.png", "2 x 1 pixels"),
        ("none.jpg", "cannot be read"),
        ("", "cannot be read"),
    ):
        with pytest.raises(Mistake, match=words) as caught:
            open_picture(tmp_path / name)
        assert "\n" not in str(caught.value)
