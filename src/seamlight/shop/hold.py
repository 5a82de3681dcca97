"""One server on one shop: a lock of the operating system on a file in the folder."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from seamlight.mistake import Mistake
from seamlight.shop.files import disk_mistake

LOCK_FILE = "serving.lock"


@contextmanager
def hold_folder(folder: Path) -> Iterator[None]:
    """Hold the folder until the block ends; the lock falls with the process, however it ends.

    Raises:
        Mistake: another server holds it.
    """
    path = folder / LOCK_FILE
    try:
        file = path.open("a+b")
    except OSError as error:
        raise disk_mistake(error, path) from error
    with file:
        if not _lock(file):
            raise being_served(folder)
        yield


def being_served(where: Path | str) -> Mistake:
    """What the second server is told."""
    return Mistake("is being served already", where=str(where), do="use that server, or stop it first")


def _lock(file: IO[bytes]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    os.set_inheritable(file.fileno(), False)
    return True
