"""A shop as one zip: its rows at one moment, and every file they name."""

from __future__ import annotations

import hashlib
import zipfile
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory
from typing import Literal

from pydantic import Field
from sqlalchemy import Connection, Table, text

from seamlight import __version__
from seamlight.document import Document, Part
from seamlight.shop.disk import Disk
from seamlight.shop.engine import copied_engine
from seamlight.shop.files import disk_mistake, hash_of
from seamlight.shop.given_numbers import last_numbers
from seamlight.shop.hold import hold_copies
from seamlight.shop.schema import version_of
from seamlight.shop.shop import DATABASE, PHOTOS, Shop
from seamlight.shop.snapshot import copy_sqlite, lines_of, tables_of
from seamlight.whole_file import whole_file

MANIFEST, ROWS, SCRATCH = "manifest.json", "rows", ".backup-"
BLOCK = 1 << 20


class MemberPart(Part):
    """One file of the zip."""

    name: str
    sha256: str
    size: int


class Manifest(Document):
    """What a backup holds, and of which version."""

    schema_: Literal["seamlight/backup/1"] = Field(default="seamlight/backup/1", alias="schema")
    seamlight: str
    tables: str
    made_at: str
    rows: Literal["sqlite", "lines"]
    last_numbers: dict[str, int] = Field(default_factory=dict)
    members: list[MemberPart]
    missing: list[str] = Field(default_factory=list)


@dataclass
class _Zip:
    """A zip being written, and what went into it."""

    file: zipfile.ZipFile
    members: list[MemberPart]

    def add(self, name: str, source: Path, how: int) -> None:
        """Add a file; hash and size are of what went in."""
        digest, size = hashlib.sha256(), 0
        info = zipfile.ZipInfo.from_file(source, name)
        info.compress_type = how
        with source.open("rb") as reading, self.file.open(info, "w", force_zip64=True) as writing:
            while block := reading.read(BLOCK):
                digest.update(block)
                size += len(block)
                writing.write(block)
        self.members.append(MemberPart(name=name, sha256=digest.hexdigest(), size=size))


def backup(shop: Shop, out: Path) -> Manifest:
    """Write the whole shop into one zip; it is there whole or not at all, and nobody has to stop working.

    Args:
        shop: the shop.
        out: the zip; an older file of that name is replaced.

    Returns:
        The zip's manifest. Files that the shop has lost are in `missing` and in `warnings`.

    Raises:
        Mistake: the zip cannot be written, or another backup is being made.
    """
    try:
        with ExitStack() as stack:
            stack.enter_context(hold_copies(shop.folder))
            for left in shop.folder.glob(f"{SCRATCH}*"):  # by a backup that was killed
                rmtree(left, ignore_errors=True)
            scratch = Path(stack.enter_context(TemporaryDirectory(prefix=SCRATCH, dir=shop.folder)))
            part = stack.enter_context(whole_file(out))
            file = stack.enter_context(zipfile.ZipFile(part, "w", allowZip64=True))
            manifest = _fill(_Zip(file, []), shop, scratch)
            file.close()
            Disk().flush(part)
        Disk().flush_folder(_beside(out))
    except OSError as error:
        raise disk_mistake(error, out) from error
    return manifest


def _beside(out: Path) -> Path:
    return Path(out).absolute().parent


def _fill(into: _Zip, shop: Shop, scratch: Path) -> Manifest:
    if shop.on_sqlite:
        copy_sqlite(shop.engine, scratch / DATABASE)
        into.add(DATABASE, scratch / DATABASE, zipfile.ZIP_DEFLATED)
        engine = copied_engine(scratch / DATABASE)
    else:
        engine = shop.engine
    try:
        with engine.connect() as connection:
            tables = tables_of(connection)
            version = version_of(connection)
            numbers = last_numbers(connection, [table.name for table in tables])
            shas = list(connection.scalars(text("SELECT sha256 FROM file ORDER BY sha256")))
            if not shop.on_sqlite:
                _add_lines(into, connection, tables, scratch)
    finally:
        if shop.on_sqlite:
            engine.dispose()
    missing = [sha for sha in shas if not _add_photo(into, shop, sha)]
    manifest = Manifest(
        warnings=[f"the file {sha} is missing or damaged; the backup lacks it too" for sha in missing],
        seamlight=__version__,
        tables=version or "",
        made_at=shop.clock().isoformat(),
        rows="sqlite" if shop.on_sqlite else "lines",
        last_numbers=numbers,
        members=into.members,
        missing=missing,
    )
    into.file.writestr(MANIFEST, manifest.to_json(), zipfile.ZIP_DEFLATED)
    return manifest


def _add_lines(into: _Zip, connection: Connection, tables: list[Table], scratch: Path) -> None:
    for table in tables:
        lines = scratch / table.name
        with lines.open("w", encoding="utf-8", newline="\n") as file:
            file.writelines(f"{line}\n" for line in lines_of(connection, table))
        into.add(f"{ROWS}/{table.name}.jsonl", lines, zipfile.ZIP_DEFLATED)


def _add_photo(into: _Zip, shop: Shop, sha: str) -> bool:
    """Photographs are compressed already: they are stored as they are. A damaged one is left out."""
    path = shop.files.path(sha)
    if not path.is_file() or hash_of(path) != sha:
        return False
    into.add(f"{PHOTOS}/{sha}", path, zipfile.ZIP_STORED)
    return True
