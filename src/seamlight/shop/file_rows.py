"""The rows of kept files."""

from __future__ import annotations

from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.tables import File


def add_row(
    change: Change,
    sha: str,
    media_type: str,
    size: int,
    *,
    width_px: int | None = None,
    height_px: int | None = None,
) -> File:
    """The row of a kept file, in the change that uses it; made once, found afterwards.

    No change sweeps files away while this one lasts, so a file that is there now stays.

    Raises:
        Mistake: the file is not there, or of another size.
    """
    path = change.files.path(sha)
    if not path.is_file() or path.stat().st_size != size:
        raise Mistake("the file is not kept", where=sha[:12], do="send it again")
    row = change.session.get(File, sha)
    if row is None:
        row = File(
            sha256=sha,
            media_type=media_type,
            size=size,
            width_px=width_px,
            height_px=height_px,
            added_at=change.at,
        )
        change.session.add(row)
        change.session.flush()
    return row
