"""A picture of wood with all that is true of where things lie in it, and how it is written to a file."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from pillow_heif import register_heif_opener

from seamlight.demo.bench import Lying
from seamlight.demo.lens import Phone
from seamlight.photo.flat import Points, Rgb
from seamlight.photo.target import Paper


@dataclass(frozen=True)
class SheetAt:
    """A target sheet on the bench: its middle in mm from the leaf's middle, its turn, its print scale."""

    x_mm: float
    y_mm: float
    turn_deg: float = 0.0
    number: int = 1
    paper: Paper = "a4"
    print_scale: float = 1.0


@dataclass(frozen=True, eq=False)
class Shot:
    """A picture, upright, and where everything in it truly is."""

    rgb: Rgb
    phone: Phone
    things: tuple[Lying, ...]  # leaves first, in the order given
    sheets: tuple[SheetAt, ...]
    focal_35mm: float
    dpi: float | None = None
    tags: dict[int, Points] = field(default_factory=dict)  # tag id -> (4, 2) true corners in px

    @property
    def focal_px(self) -> float:
        return self.phone.focal_px

    def leaf_to_px(self, points_mm: Points, which: int = 0) -> Points:
        """(n, 2) mm in a leaf's own frame -> (n, 2) px in the upright picture, centres at half-integers."""
        thing = self.things[which]
        return self.phone.to_px(thing.to_bench(points_mm), thing.lift_mm)

    def px_to_leaf(self, points_px: Points, which: int = 0) -> Points:
        """(n, 2) px -> (n, 2) mm in a leaf's own frame."""
        thing = self.things[which]
        return thing.from_bench(self.phone.to_plane(points_px, thing.lift_mm))

    def save(
        self, path: Path | str, *, orientation: int = 1, quality: int = 92, exif_focal: bool = True
    ) -> Path:
        """Write a JPEG (or PNG, TIFF, WebP, HEIC by suffix) with EXIF: turn, focal length, or dpi for a scan.

        The pixels are stored turned so that the EXIF orientation 1..8 brings them upright.
        """
        path = Path(path)
        stored = np.ascontiguousarray(_unturn(self.rgb, orientation))
        picture = Image.fromarray(stored)
        exif = Image.Exif()
        exif[0x0112] = orientation
        exif[0x010F], exif[0x0110] = "Demo", "Invented phone"
        if exif_focal and self.dpi is None:
            lens = exif.get_ifd(0x8769)
            lens[0xA405] = round(self.focal_35mm)
            # a sensor of the usual phone size, 9.8 mm across its diagonal
            lens[0x920A] = self.focal_35mm * 9.8 / 43.2666
        dpi = (self.dpi, self.dpi) if self.dpi else None
        extra: dict[str, Any] = {"dpi": dpi} if dpi else {}
        if path.suffix.lower() in (".heic", ".heif"):
            register_heif_opener()
        if path.suffix.lower() not in (".png", ".tif", ".tiff"):
            extra["quality"] = quality
        picture.save(path, exif=exif, **extra)
        return path


def _unturn(rgb: Rgb, orientation: int) -> Rgb:
    """The stored pixels that an EXIF orientation brings upright (CIPA DC-008, tag 0x0112)."""
    stored = {
        1: rgb,
        2: rgb[:, ::-1],
        3: rgb[::-1, ::-1],
        4: rgb[::-1],
        5: rgb.transpose(1, 0, 2),
        6: rgb.transpose(1, 0, 2)[::-1],
        7: rgb.transpose(1, 0, 2)[::-1, ::-1],
        8: rgb.transpose(1, 0, 2)[:, ::-1],
    }
    return np.asarray(stored[orientation], dtype=np.uint8)
