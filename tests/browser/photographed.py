"""Photographs of an invented pair, as a phone would send them; made once a test process."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from seamlight.demo.knots import KnotAt
from seamlight.demo.shop import RACK, RackPair, scene


@cache
def pair_files() -> tuple[Path, Path]:
    """Leaf A and leaf B of the cedar with a knot near either edge."""
    shown = scene(RACK[0], megapixels=6.0)
    folder = Path(mkdtemp(prefix="seamlight-test-"))
    paths = [folder / name for name in shown.file_names]
    for shot, path in zip(shown.shots, paths, strict=True):
        shot.save(path)
    return paths[0], paths[1]


# Opened with the joint on A's right edge and the neck at end 1, the first knot lies beside the joint a little
# below the soundhole. The second one is in the open whichever way the pair is opened, so that no search has a
# reason of its own to lose the first in the soundhole.
TWO_KNOTS = RackPair(
    "two-knots",
    "A knot beside the joint that only a hand brings into the soundhole.",
    "top",
    "parlour",
    "a newcomer",
    11,
    {
        "species": "western redcedar",
        "ring_mm": 1.15,
        "lean_deg": 2.0,
        "ring_trend": -0.15,
        "knots": [KnotAt(76.0, -26.0, 8.0, "live", 62.0), KnotAt(0.0, 170.0, 7.0, "dead", 70.0)],
    },
    {"length_mm": 545.0, "width_mm": 207.0, "grain_deg": 0.35},
)


def two_knots_files(folder: Path) -> tuple[Path, Path]:
    """Leaf A and leaf B of that pair, in a folder."""
    shown = scene(TWO_KNOTS, megapixels=6.0)
    paths = [folder / name for name in shown.file_names]
    for shot, path in zip(shown.shots, paths, strict=True):
        shot.save(path)
    return paths[0], paths[1]
