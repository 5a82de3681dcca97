"""Pictures in files, whole or not at all, and pictures on a PDF page."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from PIL import Image
from reportlab.lib.utils import ImageReader

from seamlight.mistake import Mistake
from seamlight.photo.flat import Rgb
from seamlight.whole_file import check_writable, whole_file

_FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP", ".tif": "TIFF", ".tiff": "TIFF"}


def save_picture(path: Path | str, rgb: Rgb) -> None:
    """Write (h, w, 3) uint8 in the form that the file's ending names.

    Raises:
        Mistake: the ending is none of a picture, or the file cannot be written.
    """
    target = Path(path)
    form = _form_of(target)
    with whole_file(target) as part:
        if form == "PNG":
            Image.fromarray(rgb).save(part, form, compress_level=4)  # a third of the time, 5 % larger
        elif form in ("JPEG", "WEBP"):
            Image.fromarray(rgb).save(part, form, quality=92)
        else:
            Image.fromarray(rgb).save(part, form)


def check_picture(path: Path | str) -> None:
    """Raise now where `save_picture` would raise once the picture is drawn.

    Raises:
        Mistake: the ending is none of a picture, or the file cannot be written.
    """
    _form_of(Path(path))
    check_writable(path)


def _form_of(target: Path) -> str:
    form = _FORMATS.get(target.suffix.lower())
    if form is None:
        raise Mistake(
            f"a picture is not written as {target.suffix or 'a file without an ending'}",
            where=str(target),
            do="name a file that ends in .png or .jpg",
        )
    return form


def on_page(picture: Image.Image, *, sharp_lines: bool = False) -> ImageReader:
    """A picture as ReportLab draws it on a page: a JPEG; `sharp_lines` keeps coloured lines sharp."""
    file = BytesIO()
    if sharp_lines:
        picture.save(file, "JPEG", quality=90, subsampling=0)
    else:
        picture.save(file, "JPEG", quality=88)
    return ImageReader(file)
