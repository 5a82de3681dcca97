"""The order of writes, flushes, renames and commits, cut at every point as a power failure would.

The model of the disk: what a file holds is lost unless it was flushed; a name is lost unless its folder was
flushed after the rename; each may also survive by luck, alone or with others. Commits are durable when they
return (SQLite with synchronous=FULL; every connection is tested to have it). SQLite's own writes are taken
whole: it is tested by its authors against just this (sqlite.org/testing.html, section 4).
"""

from __future__ import annotations

import hashlib
import random
import shutil
import sqlite3
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from keeping import filed, pair_with_photos, upload
from sqlalchemy import select

from seamlight.shop import Disk, Shop, open_shop
from seamlight.shop.backup import backup
from seamlight.shop.check import check
from seamlight.shop.tables import Arrival

LUCKY_STATES = 6


@dataclass(frozen=True)
class Done:
    """One thing done to the disk, or one thing that was acknowledged."""

    what: str  # write, flush, rename, flush_folder, remove, commit, told
    name: str = ""
    data: bytes = b""
    to: str = ""


@dataclass
class Recorder(Disk):
    """Does everything, and notes the order."""

    folder: Path
    database: Path
    log: list[Done] = field(default_factory=list)

    def write(self, path: Path, data: bytes) -> None:
        super().write(path, data)
        self.log.append(Done("write", path.name, data))

    def flush(self, path: Path) -> None:
        super().flush(path)
        self.log.append(Done("flush", path.name))

    def rename(self, old: Path, new: Path) -> None:
        super().rename(old, new)
        self.log.append(Done("rename", old.name, to=new.name))

    def flush_folder(self, folder: Path) -> None:
        super().flush_folder(folder)
        assert folder == self.folder
        self.log.append(Done("flush_folder"))

    def remove(self, path: Path) -> None:
        super().remove(path)
        self.log.append(Done("remove", path.name))

    def committed(self) -> None:
        with sqlite3.connect(self.database) as source, sqlite3.connect(":memory:") as copy:
            source.backup(copy)
            self.log.append(Done("commit", data=copy.serialize()))
        source.close()

    def told(self, key: str, data: bytes) -> None:
        """From here on the person was told that this upload is kept."""
        self.log.append(Done("told", key, to=hashlib.sha256(data).hexdigest()))


class Forgetful(Recorder):
    """Never flushes the folder: the mistake that this test must find."""

    def flush_folder(self, folder: Path) -> None:
        pass


class Hasty(Recorder):
    """Never flushes a file: the other mistake that this test must find."""

    def flush(self, path: Path) -> None:
        pass


@dataclass
class Photos:
    """What the folder holds after a power failure."""

    data: dict[str, bytes] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)  # name -> the name it was written under

    def after(self, log: list[Done], luck: random.Random | None) -> dict[str, bytes]:
        """Replay; without luck whatever was not flushed is lost, with luck some of it survives."""
        written: dict[str, bytes] = {}
        flushed: set[str] = set()
        now: dict[str, str] = {}
        for done in log:
            if done.what == "write":
                written[done.name] = done.data
                now[done.name] = done.name
                flushed.discard(done.name)
            elif done.what == "flush":
                flushed.add(now[done.name])
            elif done.what == "rename":
                now[done.to] = now.pop(done.name)
            elif done.what == "remove":
                now.pop(done.name, None)
            elif done.what == "flush_folder":
                self.names = dict(now)
        kept = dict(self.names)
        if luck is not None:
            for name in now.keys() | self.names.keys():
                if luck.random() < 0.5 and name in now:
                    kept[name] = now[name]
                elif luck.random() < 0.5 and name not in now:
                    kept.pop(name, None)
        held = {}
        for name, first in kept.items():
            data = written[first]
            whole = first in flushed or (luck is not None and luck.random() < 0.5)
            held[name] = data if whole else data[: len(data) // 2 if luck else 0]
        return held


def use_the_shop(shop: Shop, disk: Recorder) -> None:
    """Uploads, one twice, one of what a crash left, filed ones, and some whose change fails."""
    for number in range(8):
        data = f"leaf {number} ".encode() * 20
        upload(shop, f"key {number}", data)
        disk.told(f"key {number}", data)
    number = pair_with_photos(shop, "T1")
    upload(shop, "key 3", b"leaf 3 " * 20)
    left = b"left over " * 9
    shop.files.keep(left, "image/jpeg")
    upload(shop, "key left", left)
    disk.told("key left", left)
    filed(shop, "key end", b"end " * 30, number, "end_a")
    disk.told("key end", b"end " * 30)


def recorded(tmp_path: Path, empty_shop: Path, kind: type[Recorder]) -> list[Done]:
    """The log of a used shop, its empty state first."""
    folder = tmp_path / "shop"
    shutil.copytree(empty_shop, folder)
    disk = kind(folder / "photos", folder / "shop.db")
    shop = open_shop(folder, disk=disk)
    disk.committed()
    use_the_shop(shop, disk)
    shop.close()
    return disk.log


def shop_after(log: list[Done], photos: dict[str, bytes], place: Path) -> Shop:
    """What is there when the power comes back."""
    shutil.rmtree(place, ignore_errors=True)
    (place / "photos").mkdir(parents=True)
    (place / "made").mkdir()
    (place / "shop.db").write_bytes([done.data for done in log if done.what == "commit"][-1])
    for name, data in photos.items():
        (place / "photos" / name).write_bytes(data)
    return open_shop(place)


def lost(log: list[Done], shop: Shop) -> list[str]:
    """Grave findings, and what a person was told is kept and is not."""
    grave = [f"{finding.kind} {finding.where}" for finding in check(shop).findings if finding.grave]
    with shop.read() as session:
        rows = {row.upload_key: row.file_sha256 for row in session.scalars(select(Arrival))}
    told = [done for done in log if done.what == "told"]
    return grave + [f"lost upload {done.name}" for done in told if rows.get(done.name) != done.to]


def cut_everywhere(log: list[Done], place: Path, *, first_only: bool = False) -> tuple[int, list[str]]:
    """How many states were looked at, and what was lost in any, or in the first that lost something."""
    looked, losses = 0, []
    seen: set[int] = set()
    for end in range(1, len(log) + 1):
        for luck in (None, *(random.Random(f"{end} {state}") for state in range(LUCKY_STATES))):
            before = log[:end]
            photos = Photos().after(before, luck)
            commits = sum(done.what == "commit" for done in before)
            told = sum(done.what == "told" for done in before)
            state = hash((commits, told, frozenset(photos.items())))
            if state in seen:
                continue
            seen.add(state)
            shop = shop_after(before, photos, place)
            losses += [f"cut at {end}: {loss}" for loss in lost(before, shop)]
            shop.close()
            looked += 1
            if losses and first_only:
                return looked, losses
    return looked, losses


def test_nothing_told_is_lost_wherever_the_power_fails(tmp_path: Path, empty_shop: Path) -> None:
    log = recorded(tmp_path, empty_shop, Recorder)
    order = [done.what for done in log if done.what not in ("told", "commit")]
    assert order[:4] == ["write", "flush", "rename", "flush_folder"]
    looked, losses = cut_everywhere(log, tmp_path / "cut")
    assert losses == []
    assert looked > 50


def test_a_backup_is_flushed_before_it_has_its_name(
    on_sqlite: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pair_with_photos(on_sqlite, "T1")
    order: list[str] = []
    replace = Path.replace

    def named(self: Path, target: Path) -> Path:
        order.append("rename")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", named)
    monkeypatch.setattr(Disk, "flush", lambda _, path: order.append(f"flush {path.suffix}"))
    monkeypatch.setattr(Disk, "flush_folder", lambda _, folder: order.append(f"flush {folder.name}"))
    backup(on_sqlite, tmp_path / "b.zip")
    assert order[-3:] == ["flush .zip", "rename", f"flush {tmp_path.name}"]


@pytest.mark.parametrize("kind", [Forgetful, Hasty])
def test_a_careless_disk_would_be_found(tmp_path: Path, empty_shop: Path, kind: type[Recorder]) -> None:
    log = recorded(tmp_path, empty_shop, kind)
    _, losses = cut_everywhere(log, tmp_path / "cut", first_only=True)
    assert any("missing file" in loss or "changed file" in loss for loss in losses)


def test_a_row_before_its_file_would_be_found(tmp_path: Path, empty_shop: Path) -> None:
    """The same log with each commit moved before the renames it rests on."""
    log = recorded(tmp_path, empty_shop, Recorder)
    commits = [done for done in log if done.what == "commit"]
    wrong = [log[0], *commits[1:], *(done for done in log if done.what != "commit")]
    _, losses = cut_everywhere(wrong, tmp_path / "cut", first_only=True)
    assert any("missing file" in loss for loss in losses)
