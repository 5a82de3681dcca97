"""Which photograph a leaf's newest reading was made from: what a person says of a leaf is bound to it.

Millimetres and numbers of flaws hold in the frame of one picture; in another the leaf may lie turned.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.shop.tables import PairPhoto, Reading

LEAF_FACES = {"a": ("a", "other_a"), "b": ("b", "other_b")}


def pictures_read(session: Session, pair_id: int) -> dict[str, str]:
    """Hash of the photograph that each face was read from last; a face that was not read is missing."""
    found: dict[str, str] = {}
    for leaf, faces in LEAF_FACES.items():
        newest = select(Reading.files).where(
            Reading.pair_id == pair_id,
            Reading.verb == "read",
            Reading.deleted_at.is_(None),
            Reading.says["leaf"].as_string() == leaf,
        )
        files = session.scalars(newest.order_by(Reading.id.desc()).limit(1)).one_or_none()
        if files:
            found |= _by_role(session, pair_id, files, faces)
    return found


def _by_role(session: Session, pair_id: int, files: Iterable[str], faces: tuple[str, str]) -> dict[str, str]:
    rows = select(PairPhoto.role, PairPhoto.file_sha256).where(
        PairPhoto.pair_id == pair_id, PairPhoto.file_sha256.in_(list(files))
    )
    roles: dict[str, str] = dict(session.execute(rows.order_by(PairPhoto.id)).tuples().all())
    own = roles.get(faces[0]) or roles.get("opened")
    found = {faces[0]: own} if own else {}
    return found | ({faces[1]: roles[faces[1]]} if faces[1] in roles else {})


def same_picture(made_on: str | None, now: str | None) -> bool:
    """Whether what was said of one picture holds of another; of old, nobody wrote down of which."""
    return made_on is None or now is None or made_on == now


def elsewhere(made_on: Mapping[str, str] | None, now: Mapping[str, str]) -> bool:
    """Whether what was chosen on some pictures was chosen on others than those that were read last."""
    return any(not same_picture(sha, now.get(face)) for face, sha in (made_on or {}).items())


def taken(session: Session, pair_id: int, sha: str) -> datetime | None:
    """When a picture of a pair was taken, as far as is known."""
    rows = select(PairPhoto).where(PairPhoto.pair_id == pair_id, PairPhoto.file_sha256 == sha)
    row = session.scalars(rows.order_by(PairPhoto.id.desc()).limit(1)).one_or_none()
    return None if row is None else row.taken_at or row.added_at
