"""Backup and restore: whole or not at all, across databases and versions, and nothing else than a backup."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from keeping import Clock, filed, pair_with_photos, reading
from sqlalchemy import select, text
from verbs import run_verb

from seamlight.cli import backup as backup_verb
from seamlight.cli import restore as restore_verb
from seamlight.mistake import Mistake
from seamlight.shop import Disk, Shop, jobs, open_shop
from seamlight.shop.backup import backup
from seamlight.shop.check import check
from seamlight.shop.choices import keep_choice
from seamlight.shop.hold import hold_copies
from seamlight.shop.readings import keep_reading
from seamlight.shop.restore import restore
from seamlight.shop.schema import newest
from seamlight.shop.settings import keep_setting
from seamlight.shop.tables import Row
from seamlight.shop.tally import weigh
from seamlight.shop.wood import delete_pair, new_pair


@pytest.fixture
def used(shop: Shop) -> Shop:
    """A shop with something of most kinds, and the last job's number given away."""
    one, two = pair_with_photos(shop, "T1"), pair_with_photos(shop, "Tür 2", notes='"quoted", \n\\ {}')
    filed(shop, "k1", b"an end", one, "end_a")
    with shop.change("owner") as change:
        keep_reading(change, "read", reading(), pair_id=one, says={"leaf": "a"}, temp_c=20.5)
        keep_reading(change, "layout", reading("om"), pair_id=one)
        keep_choice(change, one, outline={"name": "om"}, opening={}, document={"spare_mm": 1.5})
        keep_setting(change, "unit", None)
        weigh(change, two, "both", 601.25)
        delete_pair(change, two)
        change.session.delete(jobs.ask(change, "read", {"a": 1}))
    return shop


def everything(shop: Shop) -> dict[str, list[Any]]:
    """Every row of every table, but not the mark that says which shop it is."""
    with shop.read() as session:
        return {
            table.name: sorted(
                (tuple(row) for row in session.execute(select(table)) if row[0] != "shop.mark"), key=repr
            )
            for table in Row.metadata.sorted_tables
        }


@pytest.fixture(params=["into sqlite", "into postgres"])
def target(request: pytest.FixtureRequest) -> str | None:
    """Where the rows are restored to."""
    return None if request.param == "into sqlite" else request.getfixturevalue("postgres")()


def test_what_is_restored_is_what_was_kept(
    used: Shop, target: str | None, tmp_path: Path, clock: Clock
) -> None:
    manifest = backup(used, tmp_path / "b.zip")
    assert manifest.missing == []
    assert (manifest.tables, len(manifest.members)) == (newest(), len(manifest.members))
    again = restore(tmp_path / "b.zip", tmp_path / "again", url=target, clock=clock)
    try:
        assert everything(again) == everything(used)
        assert check(again).findings == []
        with again.change("owner") as change:
            assert jobs.ask(change, "read", {}).id == 2
            assert new_pair(change, kind="top").id == 3
    finally:
        again.close()
    names = sorted(path.name for path in (tmp_path / "again").iterdir())
    assert [name for name in names if not name.startswith("shop.db-")] == sorted(
        ["made", "photos", "shop.db" if target is None else "shop.mark"]
    )
    assert not list(tmp_path.glob(".*"))


def test_a_backup_of_a_shop_that_lost_a_file_says_so(used: Shop, tmp_path: Path) -> None:
    lost = sorted(used.files.folder.iterdir())[0]
    lost.write_bytes(b"other")
    manifest = backup(used, tmp_path / "b.zip")
    assert manifest.missing == [lost.name]
    assert lost.name in manifest.warnings[0]
    again = restore(tmp_path / "b.zip", tmp_path / "again")
    assert [finding.kind for finding in check(again).findings] == ["missing file"]
    again.close()


def test_an_older_backup_is_brought_up(tmp_path: Path) -> None:
    from test_opening import old_shop

    from seamlight.shop import utc_now
    from seamlight.shop.engine import sqlite_engine

    folder = tmp_path / "old"
    (folder / "photos").mkdir(parents=True)
    engine = sqlite_engine(folder / "shop.db")
    old_shop(engine)
    manifest = backup(Shop(folder, engine, utc_now, Disk()), tmp_path / "old.zip")
    engine.dispose()
    assert manifest.tables == "0001"
    again = restore(tmp_path / "old.zip", tmp_path / "again")
    assert check(again).findings == []
    assert check(again).counts["pair"] == 3
    again.close()


def test_an_older_backup_of_postgres_is_brought_up(postgres: Callable[[], str], tmp_path: Path) -> None:
    from test_opening import old_shop

    from seamlight.shop import utc_now
    from seamlight.shop.engine import postgres_engine

    (tmp_path / "old" / "photos").mkdir(parents=True)
    engine = postgres_engine(postgres())
    old_shop(engine)
    backup(Shop(tmp_path / "old", engine, utc_now, Disk()), tmp_path / "old.zip")
    engine.dispose()
    again = restore(tmp_path / "old.zip", tmp_path / "again")
    assert (check(again).findings, check(again).counts["pair"]) == ([], 3)
    again.close()


@pytest.fixture
def zipped(on_sqlite: Shop, tmp_path: Path) -> Path:
    """A good backup."""
    pair_with_photos(on_sqlite, "T1")
    backup(on_sqlite, tmp_path / "good.zip")
    return tmp_path / "good.zip"


def altered(good: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The backup with other contents."""
    with zipfile.ZipFile(good) as file:
        contents = {name: file.read(name) for name in file.namelist()}
    change(contents)
    bad = good.with_name("bad.zip")
    with zipfile.ZipFile(bad, "w") as file:
        for name, data in contents.items():
            file.writestr(name, data)
    return bad


def manifest_with(contents: dict[str, bytes], **fields: Any) -> None:
    manifest = json.loads(contents["manifest.json"])
    contents["manifest.json"] = json.dumps({**manifest, **fields}).encode()


def newer(contents: dict[str, bytes]) -> None:
    manifest_with(contents, tables="9999")


def no_manifest(contents: dict[str, bytes]) -> None:
    del contents["manifest.json"]


def other_photo(contents: dict[str, bytes]) -> None:
    name = next(name for name in contents if name.startswith("photos/"))
    contents[name] = contents[name][:-1] + b"!"


def longer_photo(contents: dict[str, bytes]) -> None:
    name = next(name for name in contents if name.startswith("photos/"))
    contents[name] += b"!" * 5_000_000


def climbing(contents: dict[str, bytes]) -> None:
    members = json.loads(contents["manifest.json"])["members"]
    contents["../../climbed"] = contents[members[0]["name"]]
    manifest_with(contents, members=[{**members[0], "name": "../../climbed"}, *members[1:]])


def renamed_photo(contents: dict[str, bytes]) -> None:
    members = json.loads(contents["manifest.json"])["members"]
    photo = next(member for member in members if member["name"].startswith("photos/"))
    contents["photos/" + "0" * 64] = contents.pop(photo["name"])
    photo["name"] = "photos/" + "0" * 64
    manifest_with(contents, members=members)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (newer, "was written by a newer Seamlight"),
        (no_manifest, "is no backup of a shop"),
        (other_photo, "in it is damaged"),
        (longer_photo, "in it is damaged"),
        (climbing, "which no backup has"),
        (renamed_photo, "in it is damaged"),
    ],
)
def test_nothing_but_a_sound_backup_is_restored(
    zipped: Path, tmp_path: Path, change: Callable[[dict[str, bytes]], None], says: str
) -> None:
    bad = altered(zipped, change)
    before = sorted(path.name for path in tmp_path.parent.iterdir())
    with pytest.raises(Mistake, match=says) as told:
        restore(bad, tmp_path / "again")
    assert "\n" not in str(told.value)
    assert not (tmp_path / "again").exists()
    assert not list(tmp_path.glob(".restore-*"))
    assert sorted(path.name for path in tmp_path.parent.iterdir()) == before


def test_other_refusals_of_restore(zipped: Path, tmp_path: Path, used_url: str) -> None:
    with pytest.raises(Mistake, match="shop: is not empty; name a new folder"):
        restore(zipped, tmp_path / "shop")
    with pytest.raises(Mistake, match="PostgreSQL database: is not empty"):
        restore(zipped, tmp_path / "new", url=used_url)
    with pytest.raises(Mistake, match="no such file"):
        restore(tmp_path / "none.zip", tmp_path / "new")
    (tmp_path / "text.zip").write_bytes(b"not a zip")
    with pytest.raises(Mistake, match="is damaged"):
        restore(tmp_path / "text.zip", tmp_path / "new")
    (tmp_path / "half.zip").write_bytes(zipped.read_bytes()[:-200])
    with pytest.raises(Mistake, match="is damaged"):
        restore(tmp_path / "half.zip", tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.fixture
def used_url(ready: Callable[[], str]) -> str:
    """A database that has tables."""
    return ready()


def test_a_backup_is_whole_or_not(on_sqlite: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pair_with_photos(on_sqlite, "T1")
    out = tmp_path / "b.zip"
    out.write_bytes(b"the older backup")
    monkeypatch.setattr(zipfile.ZipFile, "writestr", full)
    with pytest.raises(Mistake, match=r"the disk is full|could not be written"):
        backup(on_sqlite, out)
    assert out.read_bytes() == b"the older backup"
    assert not list(tmp_path.glob(".*"))
    (on_sqlite.folder / ".backup-killed").mkdir()
    monkeypatch.undo()
    backup(on_sqlite, out)
    assert not list(on_sqlite.folder.glob(".backup-*"))
    with hold_copies(on_sqlite.folder), pytest.raises(Mistake, match="is being copied or swept"):
        backup(on_sqlite, out)
    with pytest.raises(Mistake, match="nowhere"):
        backup(on_sqlite, tmp_path / "nowhere" / "b.zip")


def full(*_args: object, **_more: object) -> None:
    raise OSError(28, "No space left on device")


def test_the_rows_of_a_backup_are_of_one_moment(used: Shop, tmp_path: Path) -> None:
    """A change in the middle of a backup is in it whole or not at all."""
    facts = everything(used)
    add = zipfile.ZipFile.open

    def busy(self: zipfile.ZipFile, *args: Any, **more: Any) -> Any:
        if "w" in args:
            with used.change("phone") as change:
                new_pair(change, kind="back")
        return add(self, *args, **more)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(zipfile.ZipFile, "open", busy)
        backup(used, tmp_path / "b.zip")
    again = restore(tmp_path / "b.zip", tmp_path / "again")
    assert everything(again) == facts
    again.close()
    assert len(everything(used)["pair"]) > len(facts["pair"])


def test_the_verbs(on_sqlite: Shop, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pair_with_photos(on_sqlite, "T1")
    out, again = str(tmp_path / "b.zip"), str(tmp_path / "again")
    run_verb(backup_verb, ["backup", out, "--shop", str(on_sqlite.folder)])
    assert "2 files" in capsys.readouterr().out
    run_verb(restore_verb, ["restore", out, "--into", again, "--json"])
    assert json.loads(capsys.readouterr().out)["sound"] is True
    with pytest.raises(Mistake, match="is not empty"):
        run_verb(restore_verb, ["restore", out, "--into", again])
    open_shop(Path(again)).close()


def test_text_of_every_kind_survives(used: Shop, tmp_path: Path) -> None:
    backup(used, tmp_path / "b.zip")
    again = restore(tmp_path / "b.zip", tmp_path / "again")
    with again.read() as session:
        labels = session.execute(text("SELECT label, notes FROM pair ORDER BY id")).all()
    assert [tuple(row) for row in labels] == [("T1", None), ("Tür 2", '"quoted", \n\\ {}')]
    again.close()
