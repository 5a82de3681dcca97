"""The photographs and papers of a pair."""

from __future__ import annotations

from datetime import datetime
from typing import Literal, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import kept
from seamlight.shop.change import Change
from seamlight.shop.numbered import numbered
from seamlight.shop.tables import File, Pair, PairPhoto

Role = Literal[
    "a",
    "b",
    "other_a",
    "other_b",
    "end_a",
    "end_b",
    "opened",
    "joined",
    "tone_1",
    "tone_2",
    "paper",
    "seam",
    "other",
]
ROLES: tuple[str, ...] = get_args(Role)


def add_photo(
    change: Change,
    pair_id: int,
    sha: str,
    role: str,
    *,
    taken_at: datetime | None = None,
    arrival: bool = False,
    note: str | None = None,
) -> PairPhoto:
    """Give a pair a kept file; its row must be there (`files.add_row`).

    Raises:
        Mistake: no such pair, file or role.
    """
    owner = kept.find(change.session, Pair, pair_id)
    if role not in ROLES:
        raise Mistake(
            f"{role!r} is nothing a picture can show", where="role", do=f"say one of {', '.join(ROLES)}"
        )
    if change.session.get(File, sha) is None:
        raise Mistake("no such file is kept", where=sha[:12], do="send it first")
    photo = PairPhoto(
        pair_id=owner.id,
        file_sha256=sha,
        role=role,
        taken_at=taken_at,
        added_at=change.at,
        arrival=arrival,
        note=note,
    )
    change.session.add(photo)
    change.session.flush()
    after = {"photo": photo.id, "file": sha, "role": role, "arrival": arrival}
    change.record("pair", pair_id, "photo added", None, after)
    return photo


def take_away(change: Change, photo_id: int) -> PairPhoto:
    """Take a photograph from its pair; `give_back` undoes it."""
    photo = _photo(change.session, photo_id)
    if photo.deleted_at is None:
        photo.deleted_at = change.at
        change.record(
            "pair", photo.pair_id, "photo taken away", {"photo": photo.id, "role": photo.role}, None
        )
    return photo


def give_back(change: Change, photo_id: int) -> PairPhoto:
    """Give a photograph back to its pair."""
    photo = _photo(change.session, photo_id)
    if photo.deleted_at is not None:
        photo.deleted_at = None
        change.record(
            "pair", photo.pair_id, "photo brought back", None, {"photo": photo.id, "role": photo.role}
        )
    return photo


def photos(session: Session, pair_id: int) -> list[PairPhoto]:
    """A pair's photographs and papers, oldest first."""
    live = select(PairPhoto).where(PairPhoto.pair_id == pair_id, PairPhoto.deleted_at.is_(None))
    return list(session.scalars(live.order_by(PairPhoto.id)))


def newest_of(session: Session, pair_id: int, role: str) -> PairPhoto | None:
    """The newest photograph of one role."""
    return next((photo for photo in reversed(photos(session, pair_id)) if photo.role == role), None)


def _photo(session: Session, photo_id: int) -> PairPhoto:
    return numbered(session, PairPhoto, photo_id, "photograph")
