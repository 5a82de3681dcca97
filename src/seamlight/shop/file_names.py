"""What people call kept files: a hash says nothing to anyone."""

from __future__ import annotations

import re

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.shop.tables import Arrival, PairPhoto

_SHA = re.compile(r"\b[0-9a-f]{64}\b")


def with_names(session: Session, line: str) -> str:
    """A line in which kept files are named as they were when they came; each once where it stood twice."""
    for sha in dict.fromkeys(_SHA.findall(line)):
        line = line.replace(sha, _name(session, sha))
    return re.sub(r"^(.+?: )\1+", r"\1", line)


def _name(session: Session, sha: str) -> str:
    came = select(Arrival.name_given).where(Arrival.file_sha256 == sha).order_by(Arrival.id.desc()).limit(1)
    name = session.scalar(came)
    if name is None:
        noted = select(PairPhoto.note).where(PairPhoto.file_sha256 == sha).order_by(PairPhoto.id.desc())
        name = session.scalar(noted.limit(1))
    return name or "the photograph"
