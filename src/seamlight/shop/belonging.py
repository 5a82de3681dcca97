"""Rows in PostgreSQL and photographs in a folder: that they are of the same shop.

A wrong pair of them would show a shop without its pictures, and sweep another shop's pictures away. Both
carry the shop's own mark.
"""

from __future__ import annotations

import secrets
from pathlib import Path

from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.files import disk_mistake
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Setting
from seamlight.whole_file import whole_file

KEY, MARK = "shop.mark", "shop.mark"


def check_belonging(shop: Shop) -> None:
    """Compare the marks; a new database or a new folder gets its mark from the other.

    Raises:
        Mistake: they are of two shops.
    """
    path = shop.folder / MARK
    in_folder = mark_in(shop.folder)
    with shop.read() as session:
        in_rows = _in_rows(session)
    if in_rows is None:
        with shop.change("seamlight") as change:
            in_rows = _in_rows(change.session)
            if in_rows is None:
                in_rows = in_folder or secrets.token_hex(16)
                change.session.add(Setting(key=KEY, value={"is": in_rows}, version=1))
    if in_folder is None:
        with whole_file(path) as part:
            part.write_text(in_rows, encoding="ascii")
    elif in_folder != in_rows:
        raise Mistake(
            "the folder and the database are of two shops",
            where=str(shop.folder),
            do="name the other folder, or the other database",
        )


def mark_in(folder: Path) -> str | None:
    """The mark in a folder; None where its rows are not in PostgreSQL."""
    try:
        return (folder / MARK).read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise disk_mistake(error, folder / MARK) from error


def _in_rows(session: Session) -> str | None:
    row = session.get(Setting, KEY)
    return None if row is None else str(row.value["is"])
