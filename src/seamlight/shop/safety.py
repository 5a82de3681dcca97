"""The copy that is made before the tables are brought to a newer version."""

from __future__ import annotations

import zipfile
from pathlib import Path

from sqlalchemy import Engine

from seamlight.shop.disk import Disk
from seamlight.shop.files import disk_mistake
from seamlight.shop.shop import COPIES, Shop
from seamlight.shop.snapshot import copy_sqlite, lines_of, tables_of
from seamlight.whole_file import whole_file


def copy_before_upgrade(shop: Shop, version: str) -> Path:
    """Copy the rows as they are into `copies`; the photographs are not touched by an upgrade.

    Returns:
        The copy: a SQLite file to be put in place of shop.db, or a zip of lines from PostgreSQL.

    Raises:
        Mistake: the disk is full, or the folder cannot be written to; nothing was upgraded.
    """
    suffix = "db" if shop.on_sqlite else "zip"
    copies = shop.folder / COPIES
    copy = copies / f"before-upgrade-of-{version}-{shop.clock():%Y%m%dT%H%M%S%f}.{suffix}"
    try:
        copies.mkdir(exist_ok=True)
        with whole_file(copy) as part:
            (copy_sqlite if shop.on_sqlite else _copy_lines)(shop.engine, part)
            Disk().flush(part)
        Disk().flush_folder(copies)
        Disk().flush_folder(shop.folder)
    except OSError as error:
        raise disk_mistake(error, copies) from error
    return copy


def _copy_lines(engine: Engine, target: Path) -> None:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as file, engine.connect() as connection:
        for table in tables_of(connection):
            with file.open(f"rows/{table.name}.jsonl", "w") as lines:
                for line in lines_of(connection, table):
                    lines.write(f"{line}\n".encode())
