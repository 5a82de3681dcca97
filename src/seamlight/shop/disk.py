"""The few things done to the disk, in one place, so that their order can be recorded and cut."""

from __future__ import annotations

import os
from pathlib import Path


class Disk:
    """Writes, flushes and renames as the operating system does them; a test hands in its own."""

    def write(self, path: Path, data: bytes) -> None:
        """Write a new file; it may be lost with the power until `flush`."""
        with path.open("xb") as file:
            file.write(data)

    def flush(self, path: Path) -> None:
        """What the file holds outlasts the power from here on."""
        with path.open("rb+") as file:
            os.fsync(file.fileno())

    def rename(self, old: Path, new: Path) -> None:
        """Give a file its name; an older file of that name is replaced."""
        old.replace(new)

    def flush_folder(self, folder: Path) -> None:
        """The names in the folder outlast the power from here on."""
        if os.name == "nt":  # a folder cannot be opened there; NTFS journals its names
            return
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def remove(self, path: Path) -> None:
        """Take a file away, if it is there."""
        path.unlink(missing_ok=True)

    def committed(self) -> None:
        """Called right after rows were committed; here nothing is left to do."""
