"""A full disk: told in one line, nothing half kept, and work goes on when there is room again."""

from __future__ import annotations

import errno
import os
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from keeping import pair_with_photos, upload
from sqlalchemy import event, text

from seamlight.mistake import Mistake
from seamlight.shop import Disk, Shop, open_shop
from seamlight.shop.arrivals import arrivals
from seamlight.shop.backup import backup
from seamlight.shop.check import check
from seamlight.shop.wood import edit_pair, pair

FULL = r"the disk is full; make room and do it again; what was kept is still there"


class Filling(Disk):
    """A disk that is full at one of the things done to it."""

    def __init__(self) -> None:
        self.full_at = ""

    def _look(self, what: str) -> None:
        if self.full_at == what:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def write(self, path: Path, data: bytes) -> None:
        if self.full_at == "write":
            super().write(path, data[: len(data) // 2])
        self._look("write")
        super().write(path, data)

    def flush(self, path: Path) -> None:
        self._look("flush")
        super().flush(path)

    def rename(self, old: Path, new: Path) -> None:
        self._look("rename")
        super().rename(old, new)

    def flush_folder(self, folder: Path) -> None:
        self._look("flush_folder")
        super().flush_folder(folder)


@pytest.mark.parametrize("what", ["write", "flush", "rename", "flush_folder"])
def test_a_photograph_that_finds_no_room(on_sqlite: Shop, what: str) -> None:
    on_sqlite.close()
    disk = Filling()
    shop = open_shop(on_sqlite.folder, disk=disk)
    disk.full_at = what
    with pytest.raises(Mistake, match=FULL):
        upload(shop, "k1", b"a leaf" * 100)
    with shop.read() as session:
        assert arrivals(session) == []
    assert check(shop).sound
    assert not list(shop.files.folder.glob(".part-*"))
    disk.full_at = ""
    upload(shop, "k1", b"a leaf" * 100)
    assert check(shop).findings == []
    shop.close()


def test_a_row_that_finds_no_room(on_sqlite: Shop) -> None:
    number = pair_with_photos(on_sqlite, "T1")

    @event.listens_for(on_sqlite.engine, "begin", insert=True)
    def narrow(connection: object) -> None:
        connection.exec_driver_sql("PRAGMA max_page_count = 1")  # type: ignore[attr-defined]

    with pytest.raises(Mistake, match=rf"shop\.db: {FULL}"), on_sqlite.change("owner") as change:
        edit_pair(change, number, {"notes": "long " * 799})
    event.remove(on_sqlite.engine, "begin", narrow)
    on_sqlite.engine.dispose()
    with on_sqlite.read() as session:
        assert pair(session, number).version == 1
    with on_sqlite.change("owner") as change:
        edit_pair(change, number, {"notes": "long " * 799})
    assert check(on_sqlite).findings == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real disk of 3 MB."""
    place = Path(tempfile.mkdtemp(prefix="seamlight-small-"))
    mount = ["mount", "-t", "tmpfs", "-o", "size=3m", "none", str(place)]
    if subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        place.rmdir()
        pytest.skip("needs the right to mount a small disk")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)
        place.rmdir()


def test_a_real_disk_that_fills_up(small_disk: Path) -> None:
    shop = open_shop(small_disk / "shop", create=True)
    number = pair_with_photos(shop, "T1")
    kept: list[str] = []
    with pytest.raises(Mistake, match="the disk is full"):
        fill_with_photos(shop, kept)
    with pytest.raises(Mistake, match="the disk is full"):
        fill_with_notes(shop, number)
    with pytest.raises(Mistake, match=r"the disk is full|No space left"):
        backup(shop, small_disk / "b.zip")
    assert not (small_disk / "b.zip").exists()
    with shop.read() as session:
        assert [row.upload_key for row in arrivals(session)] == kept
        assert session.execute(text("PRAGMA integrity_check")).scalar() == "ok"
    assert check(shop).sound
    shop.close()
    for thing in (small_disk / "shop" / "photos").glob(".part-*"):
        raise AssertionError(thing)
    subprocess.run(["mount", "-o", "remount,size=9m", str(small_disk)], check=True)
    shop = open_shop(small_disk / "shop")
    upload(shop, "later", os.urandom(150_000))
    assert check(shop).sound
    # A photograph whose row found no room is left over; no page shows it.
    assert {finding.kind for finding in check(shop).findings} <= {"leftover"}
    shop.close()


def fill_with_photos(shop: Shop, kept: list[str]) -> None:
    """Until there is no room; `kept` has what was acknowledged."""
    for count in range(1000):
        upload(shop, f"k{count}", os.urandom(150_000))
        kept.append(f"k{count}")


def fill_with_notes(shop: Shop, number: int) -> None:
    """Until there is no room."""
    for _ in range(1000):
        with shop.change("owner") as change:
            edit_pair(change, number, {"notes": os.urandom(2_000).hex()})


def test_a_disk_that_became_read_only(small_disk: Path) -> None:
    shop = open_shop(small_disk / "shop", create=True)
    pair_with_photos(shop, "T1")
    shop.close()
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(Mistake, match="shop: cannot be written to"):
        open_shop(small_disk / "shop")
