"""Two pictures of an opened pair, lit from either end: asked for, read, kept, so that the grade knows it."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy.orm import Session

from seamlight.grain.tone import read_tone
from seamlight.grain.tone_document import ToneDocument
from seamlight.mistake import Mistake
from seamlight.photo import open_picture
from seamlight.shop import jobs
from seamlight.shop.change import Change
from seamlight.shop.photos import newest_of
from seamlight.shop.readings import keep_reading, newest
from seamlight.shop.tables import Job, Reading

VERB = JOB = "tone"
ROLES = ("tone_1", "tone_2")


def ask_tone(change: Change, pair_id: int) -> Job | None:
    """Have both pictures compared in the background; None where one of them is missing."""
    if None in (newest_of(change.session, pair_id, role) for role in ROLES):
        return None
    return jobs.ask(change, JOB, {"pair": pair_id}, subject="pair", subject_id=pair_id)


def tone_files(session: Session, pair_id: int) -> tuple[str, str]:
    """Hashes of the newest picture lit from end 1 and from end 2.

    Raises:
        Mistake: one of them is missing.
    """
    one, two = (newest_of(session, pair_id, role) for role in ROLES)
    if one is None or two is None:
        lacks = "end 1" if one is None else "end 2"
        raise Mistake(f"the picture lit from {lacks} is missing", do="add one of the whole pair, opened flat")
    return one.file_sha256, two.file_sha256


def tone_of(lit_from_1: Path, lit_from_2: Path) -> ToneDocument:
    """What two pictures say, pure of the shop's memory.

    Raises:
        Mistake: a picture cannot be read or does not show both halves.
    """
    return ToneDocument.of(read_tone(open_picture(lit_from_1), open_picture(lit_from_2)))


def keep_tone(change: Change, pair_id: int, document: ToneDocument, files: tuple[str, str]) -> Reading:
    """Keep it; the pair's grade counts it from now on."""
    return keep_reading(change, VERB, document, pair_id=pair_id, files=files)


def kept_tone(session: Session, pair_id: int) -> ToneDocument | None:
    """The newest, None where the pictures were not compared."""
    row = newest(session, VERB, pair_id=pair_id)
    return ToneDocument.model_validate(row.document) if row is not None else None
