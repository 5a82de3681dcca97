"""The running tally of planing against the room left."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from seamlight.layout.opening import GrainInside, LeafPlacing, Opening
from seamlight.shop.planed_room import planed_room
from seamlight.shop.tables import Planed

NOW = datetime(2026, 3, 12, 9, tzinfo=UTC)
NONE = np.zeros((2, 2))


def opening(least: float, most: float, room: float) -> Opening:
    b = LeafPlacing(NONE, NONE, least + 1, most, most)
    grain = GrainInside(None, None, None, None, None, None)
    return Opening(
        "left", 1, "sawn", "right", True, False, 90.0, (), (), replace(b, planing_end1_mm=least), b,
        0.0, 0.0, room, 20.0, room, (), (), grain, (),
    )  # fmt: skip


def row(leaf: str, mm: float, hours: float = 0.0) -> Planed:
    return Planed(pair_id=1, leaf=leaf, mm=mm, note=None, at=NOW + timedelta(hours=hours), by="owner")


def test_what_was_removed_and_what_is_left() -> None:
    """2.6 mm off, 4.0 in all: 1.4 left before the outline is short, three passes of 0.4 mm."""
    a, b = planed_room(opening(1.0, 2.0, 3.0), [row("both", 1.6), row("a", 1.0)], None)
    assert (a.planed_mm, a.left_mm, a.to_go_mm) == pytest.approx((2.6, 1.4, 0.0))
    assert a.passes_left == 3
    assert b.planed_mm == pytest.approx(1.6)
    assert b.left_mm == pytest.approx(2.0 + 3.0 - 1.6)
    assert b.to_go_mm == pytest.approx(0.4)


def test_the_end_where_least_comes_off_counts() -> None:
    a, _ = planed_room(opening(5.0, 0.5, 0.2), [row("a", 1.0)], None)
    assert a.left_mm == pytest.approx(-0.3)
    assert a.passes_left == 0


def test_what_was_planed_before_the_photograph_shows_in_it() -> None:
    rows = [row("a", 9.0, hours=-2), row("a", 0.4, hours=1)]
    a, _ = planed_room(opening(1.0, 1.0, 1.0), rows, NOW)
    assert a.planed_mm == pytest.approx(0.4)
