"""Which files the rows name, and which row names each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.shop.tables import Arrival, Build, Choice, History, PairPhoto, Reading


def named_files(session: Session, *, undone_until: datetime | None = None) -> dict[str, str]:
    """Hash of every file that something names -> the first that does, such as "photograph 7".

    With `undone_until`, also those that undoing a change since then would name again.
    """
    found: dict[str, str] = {}
    for sha, namer in _all(session):
        found.setdefault(sha, namer)
    if undone_until is not None:
        for sha in _could_be_again(session, undone_until):
            found.setdefault(sha, "the history")
    return found


def _could_be_again(session: Session, since: datetime) -> Iterator[str]:
    changed = select(History.before, History.after).where(
        History.subject.in_(("choice", "build")), History.at >= since
    )
    for row in session.execute(changed):
        for fields in row:
            outline = (fields or {}).get("outline") or {}
            if outline.get("file"):
                yield outline["file"]


def _all(session: Session) -> Iterator[tuple[str, str]]:
    for number, sha in session.execute(select(PairPhoto.id, PairPhoto.file_sha256)):
        yield sha, f"photograph {number}"
    for number, sha in session.execute(select(Arrival.id, Arrival.file_sha256)):
        yield sha, f"arrival {number}"
    for number, shas in session.execute(select(Reading.id, Reading.files)):
        yield from ((sha, f"reading {number}") for sha in shas)
    for number, outline in session.execute(select(Choice.id, Choice.outline)):
        if outline.get("file"):
            yield outline["file"], f"choice {number}"
    for number, wanted in session.execute(select(Build.id, Build.outline)):
        if wanted and wanted.get("file"):
            yield wanted["file"], f"build {number}"
