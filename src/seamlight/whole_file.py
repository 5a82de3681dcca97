"""Files that are there whole or not at all, and the folders they go into."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from seamlight.mistake import Mistake


@contextmanager
def whole_file(path: Path | str) -> Iterator[Path]:
    """A temporary path beside `path`, with its suffix; it takes the name `path` when the block ends well.

    Raises:
        Mistake: the folder is not there or cannot be written to.
    """
    target = Path(path)
    part = _part_beside(target)
    try:
        yield part
        part.chmod(0o644)
        part.replace(target)
    except OSError as error:
        raise Mistake(f"could not be written ({error.strerror})", where=str(target)) from error
    finally:
        part.unlink(missing_ok=True)


def check_writable(path: Path | str, ending: str | None = None) -> None:
    """Raise now where `whole_file` would raise later, after the work is done; nothing is left behind.

    Args:
        ending: what the name must end in, such as `.pdf`, where what is written is of one kind.

    Raises:
        Mistake: another ending, or the folder is not there or cannot be written to.
    """
    if ending is not None and Path(path).suffix.lower() != ending:
        raise Mistake("has the wrong ending", where=str(path), do=f"name a file that ends in {ending}")
    os.unlink(_part_beside(Path(path)))


def _part_beside(target: Path) -> Path:
    """A new empty file beside `target`, with its suffix."""
    if target.is_dir():
        raise Mistake("is a folder", where=str(target), do="name a file")
    try:
        handle, name = tempfile.mkstemp(suffix=target.suffix, prefix=".part-", dir=target.parent)
        os.close(handle)
    except OSError as error:
        raise Mistake(
            f"cannot be written ({error.strerror})", where=str(target), do="name a folder that is there"
        ) from error
    return Path(name)


def made_folder(path: Path, said: str) -> Path:
    """The folder, made with those above it where it is not there yet; `said` is the option that names it.

    Raises:
        Mistake: it cannot be made, or a file of that name is in its place.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Mistake(
            f"cannot be made ({error.strerror})", where=f"{said} {path}", do="name another"
        ) from error
    return path
