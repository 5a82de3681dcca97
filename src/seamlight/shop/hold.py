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

SERVING, COPYING = "serving.lock", "copying.lock"


@contextmanager
def hold_folder(folder: Path) -> Iterator[None]:
    """Hold the folder as its only server until the block ends.

    Raises:
        Mistake: another server holds it.
    """
    with _held(folder / SERVING, being_served(folder)):
        yield


@contextmanager
def hold_copies(folder: Path) -> Iterator[None]:
    """No backup is made and nothing is swept away beside this one.

    Raises:
        Mistake: that is under way already.
    """
    busy = Mistake(
        "is being copied or swept at this moment", where=str(folder), do="do it again when that is done"
    )
    with _held(folder / COPYING, busy):
        yield


def being_served(where: Path | str) -> Mistake:
    """What the second server is told."""
    return Mistake("is being served already", where=str(where), do="use that server, or stop it first")


@contextmanager
def _held(path: Path, else_told: Mistake) -> Iterator[None]:
    """The lock falls with the process, however that ends."""
    try:
        file = path.open("a+b")
    except OSError as error:
        raise disk_mistake(error, path) from error
    with file:
        if not _lock(file):
            raise else_told
        yield


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
