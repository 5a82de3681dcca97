"""The shop's health: each kind of damage is found, and what a crash leaves is harmless."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from keeping import pair_with_photos, reading
from sqlalchemy import text
from verbs import run_verb

from seamlight.cli import check as check_verb
from seamlight.mistake import Mistake
from seamlight.shop import Shop
from seamlight.shop.check import check, compare_files
from seamlight.shop.photos import photos
from seamlight.shop.readings import keep_reading


def found(shop: Shop) -> list[tuple[str, bool, str]]:
    return [(finding.kind, finding.grave, finding.where) for finding in check(shop).findings]


def first_file(shop: Shop, pair_id: int) -> Path:
    with shop.read() as session:
        return shop.files.path(photos(session, pair_id)[0].file_sha256)


def test_a_sound_shop(shop: Shop) -> None:
    pair_with_photos(shop, "T1")
    document = check(shop)
    assert document.sound
    assert document.findings == []
    assert document.counts["files"] == 2


def test_a_missing_and_a_changed_file(shop: Shop) -> None:
    one, two = (pair_with_photos(shop, label) for label in ("T1", "T2"))
    missing, changed = first_file(shop, one), first_file(shop, two)
    missing.unlink()
    changed.write_bytes(changed.read_bytes()[::-1])
    assert set(found(shop)) == {
        ("missing file", True, f"photos/{missing.name}"),
        ("changed file", True, f"photos/{changed.name}"),
    }
    assert not check(shop).sound


def test_a_file_without_a_row_is_a_harmless_leftover(shop: Shop) -> None:
    sha = shop.files.keep(b"the server was killed here", "image/jpeg")
    (shop.files.folder / ".part-0011").write_bytes(b"half a pict")
    (shop.files.folder / "Thumbs.db").write_bytes(b"")
    assert sorted(found(shop)) == sorted(
        ("leftover", False, f"photos/{name}") for name in (sha, ".part-0011", "Thumbs.db")
    )
    assert check(shop).sound


def test_a_gap_in_a_history(shop: Shop) -> None:
    pair_with_photos(shop, "T1")
    with shop.change("owner") as change:
        change.session.execute(text("UPDATE pair SET version = 3"))
    assert found(shop) == [("history gap", True, "pair T1")]


def test_a_reading_of_a_file_that_no_row_keeps(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.change("owner") as change:
        kept = keep_reading(change, "read", reading(), pair_id=number)
        kept.files = ["a" * 64]
    assert found(shop) == [("file without its row", True, f"reading {kept.id}")]


def test_a_broken_reference(on_sqlite: Shop) -> None:
    pair_with_photos(on_sqlite, "T1")
    with sqlite3.connect(on_sqlite.folder / "shop.db") as outside:
        outside.execute("UPDATE pair_photo SET pair_id = 77 WHERE role = 'a'")
        outside.execute("UPDATE pair_photo SET file_sha256 = 'gone' WHERE role = 'b'")
    outside.close()
    assert ("broken reference", True, "pair_photo.pair_id") in found(on_sqlite)
    assert ("broken reference", True, "pair_photo.file_sha256") in found(on_sqlite)


def test_a_damaged_database(on_sqlite: Shop) -> None:
    for number in range(12):
        pair_with_photos(on_sqlite, f"T{number}")
    with sqlite3.connect(on_sqlite.folder / "shop.db") as outside:
        outside.execute("PRAGMA writable_schema=ON")
        outside.execute("DELETE FROM sqlite_master WHERE name = 'ix_pair_kind'")
    outside.close()
    on_sqlite.engine.dispose()
    assert any(kind == "damaged database" for kind, _, _ in found(on_sqlite))


def test_a_file_that_came_while_the_folder_was_looked_at_is_no_leftover(tmp_path: Path) -> None:
    sha = "b" * 64
    (tmp_path / sha).write_bytes(b"new")
    assert list(compare_files({}, {sha: tmp_path / sha}, {sha})) == []
    assert [finding.kind for finding in compare_files({}, {sha: tmp_path / sha})] == ["leftover"]


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[[], tuple[str, str]]:
    return lambda: tuple(capsys.readouterr())  # type: ignore[return-value]


def test_the_verb(on_sqlite: Shop, said: Callable[[], tuple[str, str]]) -> None:
    number = pair_with_photos(on_sqlite, "T1")
    where = ["check", "--shop", str(on_sqlite.folder)]
    run_verb(check_verb, where)
    out, err = said()
    assert "Sound" in out
    assert err == ""
    first_file(on_sqlite, number).unlink()
    with pytest.raises(Mistake, match="1 thing that was kept is missing or wrong"):
        run_verb(check_verb, [*where, "--json"])
    out, err = said()
    assert '"schema":"seamlight/check/1"' in out
    assert len(out.splitlines()) == 1
