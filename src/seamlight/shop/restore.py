"""A backup made a shop again."""

from __future__ import annotations

import hashlib
import re
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from shutil import disk_usage, rmtree
from tempfile import mkdtemp

from pydantic import ValidationError
from sqlalchemy import Engine, text

from seamlight.mistake import Mistake
from seamlight.shop.backup import BLOCK, MANIFEST, ROWS, Manifest, MemberPart
from seamlight.shop.belonging import KEY, check_belonging
from seamlight.shop.disk import Disk
from seamlight.shop.engine import postgres_engine, sqlite_engine
from seamlight.shop.faults import told
from seamlight.shop.files import disk_mistake
from seamlight.shop.given_numbers import set_last_numbers
from seamlight.shop.schema import check_known, has_tables, migrate
from seamlight.shop.shop import DATABASE, MADE, PHOTOS, Shop
from seamlight.shop.snapshot import lines_of, load_lines, tables_of
from seamlight.shop.times import utc_now

ALLOWED = re.compile(rf"{re.escape(DATABASE)}|{PHOTOS}/[0-9a-f]{{64}}|{ROWS}/[a-z_]{{1,60}}\.jsonl")
MANIFEST_LARGEST = 64 << 20


def restore(
    backup: Path, into: Path, *, url: str | None = None, clock: Callable[[], datetime] = utc_now
) -> Shop:
    """Make a shop out of a backup, of this version's tables; it is there whole or not at all.

    Args:
        backup: the zip.
        into: the new shop's folder: an empty one, or one that is not there yet.
        url: an empty PostgreSQL database for the rows; without it they go into the folder.
        clock: the restored shop's clock.

    Raises:
        Mistake: the folder or the database is not empty, the zip is no backup, is damaged or was made by a
            newer program, or the disk is full.
    """
    into = Path(into)
    if into.exists() and (not into.is_dir() or any(into.iterdir())):
        raise Mistake("is not empty", where=str(into), do="name a new folder")
    try:
        into.absolute().parent.mkdir(parents=True, exist_ok=True)
        part = Path(mkdtemp(prefix=".restore-", dir=into.absolute().parent))
    except OSError as error:
        raise disk_mistake(error, into) from error
    try:
        with _opened(backup) as (file, manifest):
            check_known(manifest.tables, str(backup))
            _check_room(manifest, part, backup)
            _unpack(file, manifest, part, backup)
            engine = _rows(manifest, part, url)
        _flush_all(part)
        part.chmod(0o755)
        part.replace(into)
        Disk().flush_folder(into.absolute().parent)
    except OSError as error:
        raise disk_mistake(error, into) from error
    finally:
        rmtree(part, ignore_errors=True)
    if url is None:
        return Shop(into, sqlite_engine(into / DATABASE), clock, Disk())
    restored = Shop(into, engine, clock, Disk())
    check_belonging(restored)
    return restored


@contextmanager
def _opened(backup: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest]]:
    try:
        with zipfile.ZipFile(backup) as file:
            if file.getinfo(MANIFEST).file_size > MANIFEST_LARGEST:
                raise Mistake("its manifest is too large", where=str(backup), do="name a backup")
            yield file, Manifest.model_validate_json(file.read(MANIFEST))
    except FileNotFoundError as error:
        raise Mistake("no such file", where=str(backup), do="check the name") from error
    except (KeyError, ValidationError) as error:
        raise Mistake("is no backup of a shop", where=str(backup), do="name a backup") from error
    except (zipfile.BadZipFile, EOFError, NotImplementedError) as error:
        raise Mistake(f"is damaged ({error})", where=str(backup), do="take an older backup") from error


def _check_room(manifest: Manifest, part: Path, backup: Path) -> None:
    """Refuse before anything is written what the disk cannot hold, true backup or not."""
    wanted, free = sum(member.size for member in manifest.members), disk_usage(part).free
    if wanted > free:
        raise Mistake(
            f"holds {wanted / 1e9:.1f} GB, the disk has room for {free / 1e9:.1f}",
            where=str(backup),
            do="make room, or restore it elsewhere",
        )


def _unpack(file: zipfile.ZipFile, manifest: Manifest, part: Path, backup: Path) -> None:
    for folder in (PHOTOS, MADE, ROWS):
        (part / folder).mkdir()
    for member in manifest.members:
        # Only names that a backup can have are ever used as paths.
        if not ALLOWED.fullmatch(member.name):
            raise Mistake(f"holds {member.name!r}, which no backup has", where=str(backup), do="distrust it")
        _unpack_one(file, member, part / member.name, backup)


def _unpack_one(file: zipfile.ZipFile, member: MemberPart, target: Path, backup: Path) -> None:
    digest, left = hashlib.sha256(), member.size
    with file.open(member.name) as reading, target.open("xb") as writing:
        while block := reading.read(BLOCK):
            left -= len(block)
            if left < 0:
                break
            digest.update(block)
            writing.write(block)
    named_so = not member.name.startswith(PHOTOS) or target.name == member.sha256
    if left != 0 or digest.hexdigest() != member.sha256 or not named_so:
        raise Mistake(f"{member.name} in it is damaged", where=str(backup), do="take an older backup")


def _rows(manifest: Manifest, part: Path, url: str | None) -> Engine:
    """The rows in their new place, of this version's tables."""
    own = part / DATABASE
    if url is None:
        engine = sqlite_engine(own)
        try:
            with told(own):
                if manifest.rows == "lines":
                    _load(engine, manifest, lambda name: _lines_in(part / ROWS / f"{name}.jsonl"))
                migrate(engine)
        finally:
            engine.dispose()
    else:
        engine = postgres_engine(url)
        with told("the PostgreSQL database"):
            _into_postgres(engine, manifest, part)
        own.unlink(missing_ok=True)
    rmtree(part / ROWS)
    return engine


def _into_postgres(engine: Engine, manifest: Manifest, part: Path) -> None:
    with engine.connect() as connection:
        if has_tables(connection):
            raise Mistake("is not empty", where="the PostgreSQL database", do="name an empty one")
    if manifest.rows == "lines":
        _load(engine, manifest, lambda name: _lines_in(part / ROWS / f"{name}.jsonl"))
    else:
        source = sqlite_engine(part / DATABASE)
        try:
            with source.connect() as connection:
                there = {table.name: table for table in tables_of(connection)}
                _load(engine, manifest, lambda name: lines_of(connection, there[name]))
        finally:
            source.dispose()
    migrate(engine)


def _load(engine: Engine, manifest: Manifest, lines: Callable[[str], Iterator[str]]) -> None:
    """Rows into empty tables of the version they were written with."""
    migrate(engine, manifest.tables)
    with engine.execution_options(to_change=True).begin() as connection:
        tables = tables_of(connection)
        for table in tables:
            load_lines(connection, table, lines(table.name))
        connection.execute(
            text("DELETE FROM setting WHERE key = :key"), {"key": KEY}
        )  # it is a shop of its own
        set_last_numbers(connection, [table.name for table in tables], manifest.last_numbers)


def _lines_in(path: Path) -> Iterator[str]:
    if not path.is_file():
        raise Mistake(f"{path.name} is missing in the backup", do="take an older backup")
    with path.open(encoding="utf-8", newline="\n") as file:
        yield from file


def _flush_all(folder: Path) -> None:
    disk = Disk()
    for path in [*folder.rglob("*"), folder]:
        (disk.flush_folder if path.is_dir() else disk.flush)(path)
