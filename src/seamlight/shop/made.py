"""Things that can be made again: thumbnails, flat pictures, arrays. They may be deleted at any time."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from seamlight.mistake import Mistake
from seamlight.shop.files import disk_mistake
from seamlight.whole_file import whole_file

KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,199}")


@dataclass(frozen=True)
class Made:
    """The folder `made`."""

    folder: Path

    def path(self, key: str) -> Path:
        """Where the thing lies, or would lie; it may not be there.

        Raises:
            Mistake: `key` is anything but letters, figures, dot, dash and underscore.
        """
        if not KEY.fullmatch(key):
            raise Mistake("is no name of a made thing", where=key[:80] or "(nothing)")
        return self.folder / key

    def keep(self, key: str, data: bytes) -> Path:
        """Put it there, whole or not at all; not flushed, since it can be made again."""
        target = self.path(key)
        try:
            self.folder.mkdir(exist_ok=True)
        except OSError as error:
            raise disk_mistake(error, self.folder) from error
        with whole_file(target) as part:
            part.write_bytes(data)
        return target
