"""Photographs of an invented pair, as a phone would send them; made once a test process."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from seamlight.demo.shop import RACK, scene


@cache
def pair_files() -> tuple[Path, Path]:
    """Leaf A and leaf B of the cedar with a knot near either edge."""
    shown = scene(RACK[0], megapixels=6.0)
    folder = Path(mkdtemp(prefix="seamlight-test-"))
    paths = [folder / name for name in shown.file_names]
    for shot, path in zip(shown.shots, paths, strict=True):
        shot.save(path)
    return paths[0], paths[1]
