"""A shop with invented pairs, each laid out for some outlines."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from seamlight.shop import Shop, open_shop
from seamlight.shop.change import Change
from seamlight.shop.readings import keep_reading
from seamlight.shop.tables import Pair
from seamlight.shop.wood import new_pair

T0 = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = T0

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **by: float) -> None:
        self.now += timedelta(**by)


@contextmanager
def shop_in(folder: Path) -> Iterator[tuple[Shop, Clock]]:
    clock = Clock()
    shop = open_shop(folder, create=True, clock=clock)
    try:
        yield shop, clock
    finally:
        shop.close()


def layout_document(name: str, spare_mm: float, **grain: Any) -> dict[str, Any]:
    """A layout of one opening, as the verb prints it."""
    half = [[0.0, 0.0], [180.0, 0.0], [180.0, 480.0], [0.0, 480.0]]
    placing = {
        "joint_line_mm": [[0, 0], [0, 480]],
        "outline_mm": half,
        "planing_mm": {"end1": 1, "end2": 1, "most": 1},
    }
    opening = {
        "joint_edge": "left",
        "neck_end": 1,
        "show_face": "sawn",
        "a_is": "right",
        "fits": spare_mm >= 0,
        "marginal": False,
        "score": 80.0,
        "score_parts": [],
        "reasons": [],
        "leaves": {"a": placing, "b": placing},
        "joint_tilt_deg": 0.0,
        "slide_mm": 0.0,
        "spare_mm": spare_mm,
        "end_spare_mm": 10.0,
        "joint_room_mm": max(0.0, spare_mm),
        "short": [],
        "flaws_inside": [],
        "grain": {
            "tilt_deg": 0.1,
            "spread_deg": 0.4,
            "lines_per_inch": {"joint": 24.0, "middle": 22.0, "edge": 20.0},
            "ring_to_face_deg": 86.0,
            **grain,
        },
        "remedies": [],
    }
    return {
        "schema": "seamlight/layout/1",
        "warnings": [],
        "pair": {
            "match": 0.9,
            "b_shows": "sawn",
            "b_turned": False,
            "slide_mm": 0.0,
            "across_mm": 0.0,
            "rotate_deg": 0.0,
        },
        "flaws": {"a": [], "b": []},
        "outline": {
            "name": name,
            "length_mm": 476.0,
            "upper_bout_mm": 240.0,
            "waist_mm": 200.0,
            "lower_bout_mm": 343.0,
        },
        "openings": [opening],
    }


def laid_pair(change: Change, kind: str = "top", wood: str = "Sitka spruce", **spare_mm: float) -> Pair:
    """A pair with a layout for each outline named (`_` for a blank) with its room."""
    pair = new_pair(change, kind=kind, species_common=wood)
    for name, spare in spare_mm.items():
        plain = name.replace("_", " ")
        keep_reading(
            change, "layout", layout_document(plain, spare), pair_id=pair.id, says={"outline": plain}
        )
    return pair
