"""Kept files: named by their SHA-256, whole and flushed before any row names them."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from seamlight.mistake import Mistake
from seamlight.shop.disk import Disk

PART = ".part-"
SHA = re.compile(r"[0-9a-f]{64}")
BLOCK = 1 << 20


@dataclass(frozen=True)
class Files:
    """The folder `photos`."""

    folder: Path
    disk: Disk

    def path(self, sha: str) -> Path:
        """Where a kept file lies.

        Raises:
            Mistake: `sha` is no SHA-256 in small hexadecimal digits.
        """
        if not SHA.fullmatch(sha):
            raise Mistake("is no name of a kept file", where=sha[:80] or "(nothing)")
        return self.folder / sha

    def keep(self, data: bytes | Path, media_type: str) -> str:
        """Keep a file; after this it outlasts a power failure. The row is added with `add_row`.

        Args:
            data: what it holds, or a file that holds it.
            media_type: such as image/jpeg; only the row remembers it.

        Returns:
            Its SHA-256; keeping the same bytes twice is one file.

        Raises:
            Mistake: the disk is full, or the folder cannot be written to.
        """
        if "/" not in media_type:
            raise ValueError(f"no media type: {media_type}")
        held = data.read_bytes() if isinstance(data, Path) else data
        sha = hashlib.sha256(held).hexdigest()
        target = self.path(sha)
        try:
            if not self._there(target, sha):
                self._write(target, held)
        except OSError as error:
            raise disk_mistake(error, self.folder) from error
        return sha

    def _there(self, target: Path, sha: str) -> bool:
        """Whether it is kept already, and outlasts a power failure."""
        try:
            if not target.is_file() or hash_of(target) != sha:
                return False
            os.utime(target)
            # It may be left from a crash between the rename and the flush of the folder.
            self.disk.flush(target)
            self.disk.flush_folder(self.folder)
        except FileNotFoundError:  # swept away this moment
            return False
        return True

    def _write(self, target: Path, held: bytes) -> None:
        part = self.folder / f"{PART}{secrets.token_hex(8)}"
        try:
            self.disk.write(part, held)
            self.disk.flush(part)
            self.disk.rename(part, target)
            self.disk.flush_folder(self.folder)
        except OSError:
            self.disk.remove(part)
            raise

    def names(self) -> Iterator[str]:
        """Names of everything in the folder, parts of unfinished writes too."""
        yield from sorted(entry.name for entry in os.scandir(self.folder))


def hash_of(path: Path) -> str:
    """SHA-256 of a file, in small hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def disk_mistake(error: OSError, where: Path) -> Mistake:
    """What a person is told when the disk refuses."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return Mistake(
            "the disk is full", where=str(where), do="make room and do it again; what was kept is still there"
        )
    if error.errno in (errno.EACCES, errno.EROFS, errno.EPERM):
        return Mistake("cannot be written to", where=str(where), do="give yourself the right to write there")
    return Mistake(f"the disk refuses ({error.strerror})", where=str(where), do="look after the disk")
