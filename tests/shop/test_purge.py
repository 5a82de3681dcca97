"""Deleted things come back for 30 days, then they and their files go for good."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from keeping import Clock, filed, pair_with_photos, reading, upload

from seamlight.mistake import Mistake
from seamlight.shop import Shop
from seamlight.shop.arrivals import drop
from seamlight.shop.check import check
from seamlight.shop.choices import keep_choice
from seamlight.shop.flaw_edits import keep_flaw_edits
from seamlight.shop.hold import hold_copies
from seamlight.shop.photos import photos, take_away
from seamlight.shop.purge import Purged, purge, recently_deleted
from seamlight.shop.readings import keep_reading
from seamlight.shop.tally import plane, weigh
from seamlight.shop.wood import bring_back, delete_pair, new_pair


def age_files(folder: Path, days: float) -> None:
    """As if they had been lying there for so long."""
    then = time.time() - days * 86400
    for path in folder.iterdir():
        os.utime(path, (then, then))


def a_full_pair(shop: Shop, label: str) -> int:
    number = pair_with_photos(shop, label)
    filed(shop, f"key {label}", f"end {label}".encode(), number, "end_a")
    with shop.change("owner") as change:
        keep_reading(change, "read", reading(), pair_id=number, says={"leaf": "a"})
        keep_reading(change, "layout", reading("om"), pair_id=number)
        keep_choice(change, number, outline={"name": "om"}, opening={}, document={})
        keep_flaw_edits(change, number, "a", {})
        weigh(change, number, "a", 1.0)
        plane(change, number, "a", 1.0)
    return number


def test_a_deleted_pair_comes_back_for_30_days_and_then_goes(shop: Shop, clock: Clock) -> None:
    kept, gone = a_full_pair(shop, "T1"), a_full_pair(shop, "T2")
    with shop.change("owner") as change:
        delete_pair(change, gone)
    with shop.read() as session:
        assert [(row.subject, row.label) for row in recently_deleted(session)] == [("pair", "T2")]
    clock.wait(days=29)
    assert purge(shop, "owner") == Purged()
    with shop.change("owner") as change:
        bring_back(change, gone)
        delete_pair(change, gone)
    clock.wait(days=31)
    age_files(shop.files.folder, 2)
    assert purge(shop, "owner") == Purged(pairs=1, files=3)
    with shop.read() as session:
        assert len(photos(session, kept)) == 3
        assert recently_deleted(session) == []
    assert check(shop).findings == []
    with shop.change("owner") as change:
        assert new_pair(change, kind="top", label="T2").id == gone + 1


def test_photographs_and_arrivals_go_too_but_not_a_file_that_is_still_named(shop: Shop, clock: Clock) -> None:
    one, two = pair_with_photos(shop, "T1"), pair_with_photos(shop, "T2")
    shared = filed(shop, "k1", b"both leaves", one, "opened")
    filed(shop, "k2", b"both leaves", two, "opened")
    dropped = upload(shop, "k3", b"a thumb")
    with shop.change("owner") as change:
        take_away(change, shared)
        drop(change, dropped)
    clock.wait(days=31)
    age_files(shop.files.folder, 2)
    assert purge(shop, "owner") == Purged(photos=1, arrivals=1, files=1)
    assert check(shop).findings == []


def test_a_file_that_was_kept_this_moment_is_not_swept_away(shop: Shop, clock: Clock) -> None:
    """Kept again, but its row not yet written: sweeping must leave it, though it lay there for long."""
    shop.files.keep(b"left over", "image/jpeg")
    old = shop.files.keep(b"left over too", "image/jpeg")
    age_files(shop.files.folder, 2)
    touched = shop.files.keep(b"left over", "image/jpeg")
    assert purge(shop, "owner").files == 1
    assert shop.files.path(touched).is_file()
    assert not shop.files.path(old).exists()


def test_nothing_is_swept_while_a_backup_is_made(shop: Shop) -> None:
    with hold_copies(shop.folder), pytest.raises(Mistake, match="is being copied"):
        purge(shop, "owner")
