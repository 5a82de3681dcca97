"""What is taken in and what is sent: judged by content, measured before decoding, never executed."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable

import pytest
from asking import Browser
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from starlette.datastructures import UploadFile

from seamlight.mistake import Mistake
from seamlight.shop.file_rows import add_row
from seamlight.shop.shop import Shop
from seamlight.web.serving import Limits
from seamlight.web.uploads import plain_name, take_paper, take_picture

LIMITS = Limits(file_bytes=200_000, pixels=1_000_000)


def drawn(kind: str, size: tuple[int, int] = (80, 90)) -> bytes:
    """A small picture file."""
    out = io.BytesIO()
    Image.new("RGB", size, (200, 170, 120)).save(out, kind)
    return out.getvalue()


def upload(data: bytes, name: str = "a.jpg") -> UploadFile:
    """As a form brings it."""
    return UploadFile(io.BytesIO(data), filename=name)


def huge_png(width: int, height: int) -> bytes:
    """A PNG whose header says it is huge, in a few bytes (W3C PNG, 5.6 and 11.2.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return len(data).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")

    header = width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes((8, 2, 0, 0, 0))
    data = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + data


@pytest.mark.parametrize(
    ("kind", "media_type"),
    [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp"), ("TIFF", "image/tiff")],
)
def test_a_picture_is_what_its_bytes_are_whatever_it_is_called(kind: str, media_type: str) -> None:
    for name in ("a.jpg", "page.html", "run.exe", ""):
        taken = take_picture(upload(drawn(kind), name), LIMITS)
        assert (taken.media_type, taken.width_px, taken.height_px) == (media_type, 80, 90)


@pytest.mark.parametrize(
    "data",
    [
        b"<html><script>alert(1)</script></html>",
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        b"MZ\x90\x00",
        b"%PDF-1.7",
        b"GIF89a" + bytes(40),
        b"\xff\xd8\xff",
        b"\x89PNG\r\n\x1a\n",
    ],
)
def test_what_is_no_picture_is_refused_whatever_it_is_called(data: bytes) -> None:
    with pytest.raises(Mistake):
        take_picture(upload(data, "leaf.jpg"), LIMITS)


def test_a_picture_with_too_many_pixels_is_refused_before_it_is_decoded() -> None:
    for size in ((1001, 1000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)):
        with pytest.raises(Mistake, match="megapixels"):
            take_picture(upload(huge_png(*size)), LIMITS)
    assert take_picture(upload(drawn("PNG", (1000, 1000))), LIMITS).width_px == 1000


def test_empty_and_too_large_files_are_refused() -> None:
    with pytest.raises(Mistake, match="empty"):
        take_paper(upload(b""), LIMITS)
    with pytest.raises(Mistake, match="MB"):
        take_paper(upload(bytes(200_001)), LIMITS)


def test_papers_are_kept_as_bytes_unless_they_are_pictures_or_pdf() -> None:
    assert take_paper(upload(b"%PDF-1.7 ...", "x.html"), LIMITS).media_type == "application/pdf"
    assert take_paper(upload(drawn("PNG"), "x.pdf"), LIMITS).media_type == "image/png"
    for data in (b"<html></html>", b"<svg/>", b"plain words", b"PK\x03\x04"):
        assert take_paper(upload(data, "x.pdf"), LIMITS).media_type == "application/octet-stream"


@given(st.text(max_size=300))
@settings(max_examples=200)
def test_a_name_is_for_showing_only(given_name: str) -> None:
    name = plain_name(given_name)
    assert name
    assert len(name) <= 120
    assert not set(name) & set("/\\\0\n\r")


def test_names_of_folders_are_left_out() -> None:
    assert plain_name("../../etc/passwd") == "passwd"
    assert plain_name("C:\\wood\\leaf a.jpg") == "leaf a.jpg"
    assert plain_name(None) == "the file"


def keep(shop: Shop, data: bytes, media_type: str) -> str:
    """A kept file with its row."""
    sha = shop.files.keep(data, media_type)
    with shop.change("owner") as change:
        add_row(change, sha, media_type, len(data))
    return sha


@pytest.mark.parametrize(
    ("media_type", "sent_as", "shown"),
    [
        ("image/jpeg", "image/jpeg", True),
        ("image/png", "image/png", True),
        ("image/tiff", "image/tiff", False),
        ("application/pdf", "application/pdf", False),
        ("application/octet-stream", "application/octet-stream", False),
        ("text/html", "application/octet-stream", False),
        ("image/svg+xml", "application/octet-stream", False),
    ],
)
def test_a_file_is_sent_as_what_it_is_and_can_do_nothing(
    owner: Browser, shop: Shop, media_type: str, sent_as: str, shown: bool
) -> None:
    sha = keep(shop, b"<script>alert(1)</script>" + media_type.encode(), media_type)
    answer = owner.get(f"/files/{sha}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == sent_as
    assert answer.headers["content-disposition"].startswith("inline" if shown else "attachment")
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in answer.headers["content-security-policy"]
    assert "script-src" not in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    "path",
    [
        "/files/..%2fshop.db",
        "/files/%2e%2e%2fpages.secret",
        "/files/../shop.db",
        "/files/shop.db",
        "/static/..%2fapp.py",
    ],
)
def test_a_path_is_never_made_from_a_name(owner: Browser, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_a_file_without_a_row_is_not_sent(owner: Browser, shop: Shop) -> None:
    assert owner.get(f"/files/{shop.files.keep(b'unacknowledged', 'image/jpeg')}").status_code == 404


def test_another_device_gets_files_only_when_paired(
    stranger: Browser, paired: Callable[..., Browser], shop: Shop
) -> None:
    sha = keep(shop, drawn("PNG"), "image/png")
    assert stranger.get(f"/files/{sha}").status_code == 401
    assert paired().get(f"/files/{sha}").status_code == 200
