"""Opening a shop: is it there, may it be written to, is it of this version."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from seamlight.mistake import Mistake
from seamlight.shop.belonging import check_belonging, mark_in
from seamlight.shop.disk import Disk
from seamlight.shop.engine import postgres_engine, sqlite_engine
from seamlight.shop.faults import told
from seamlight.shop.files import SHA, disk_mistake
from seamlight.shop.safety import copy_before_upgrade
from seamlight.shop.schema import check_known, migrate, newest, version_of
from seamlight.shop.shop import DATABASE, MADE, PHOTOS, Shop
from seamlight.shop.times import utc_now

EFFECTIVE = os.access in os.supports_effective_ids


def open_shop(
    folder: Path | str,
    *,
    url: str | None = None,
    create: bool = False,
    clock: Callable[[], datetime] = utc_now,
    disk: Disk | None = None,
) -> Shop:
    """Open the shop in a folder.

    Args:
        folder: the shop's folder; with `url` it holds the photographs only.
        url: a PostgreSQL database to keep the rows in; without it, SQLite in the folder.
        create: make the shop where there is none.
        clock: the time, in UTC.
        disk: how files are written.

    Raises:
        Mistake: no shop is there, its folder cannot be written to, it was written by a newer program,
            it is older and being served by an older program, or the disk is full.
    """
    folder = Path(folder)
    _check_folder(folder, create=create, by_url=url is not None)
    engine = sqlite_engine(folder / DATABASE) if url is None else postgres_engine(url)
    shop = Shop(folder, engine, clock, disk or Disk())
    try:
        with told(shop.where):
            _bring_up(engine, shop, create)
            if url is not None:
                check_belonging(shop)
    except BaseException:
        shop.close()
        raise
    return shop


def _bring_up(engine: Engine, shop: Shop, create: bool) -> None:
    with engine.connect() as connection:
        version = version_of(connection)
    if version is None:
        if not create:
            raise Mistake("holds no shop yet", where=shop.where, do="make one first")
        if any(SHA.fullmatch(name) for name in shop.files.names()):
            # A new shop here would take them for leftovers and sweep them away.
            raise Mistake(
                "holds the photographs of a shop whose rows are not here",
                where=str(shop.folder),
                do="restore a backup, or name another folder",
            )
        migrate(engine)
    elif version != newest():
        check_known(version, shop.where)
        with shop.hold():
            copy_before_upgrade(shop, version)
            migrate(engine)


def _check_folder(folder: Path, *, create: bool, by_url: bool) -> None:
    if not by_url and mark_in(folder) is not None:
        raise Mistake("its rows are in PostgreSQL", where=str(folder), do="name the database's URL")
    there = (folder / PHOTOS).is_dir() and (by_url or (folder / DATABASE).is_file())
    if not there and not create:
        raise Mistake("no shop is here", where=str(folder), do="name the shop's folder")
    try:
        for needed in (folder, folder / PHOTOS, folder / MADE):
            needed.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise disk_mistake(error, folder) from error
    for needed in (folder, folder / PHOTOS, folder / DATABASE):
        if needed.exists() and not os.access(needed, os.W_OK, effective_ids=EFFECTIVE):
            raise Mistake(
                "cannot be written to", where=str(needed), do="give yourself the right to write there"
            )
