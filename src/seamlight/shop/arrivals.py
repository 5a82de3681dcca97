"""Photographs taken in and not yet filed to a pair."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.numbered import numbered
from seamlight.shop.photos import add_photo
from seamlight.shop.tables import Arrival, PairPhoto


def take_in(
    change: Change,
    sha: str,
    upload_key: str,
    *,
    name_given: str | None = None,
    scale_spec: str | None = None,
    thickness_mm: float | None = None,
    taken_at: datetime | None = None,
) -> tuple[Arrival, bool]:
    """Note a photograph that came in; its file and the file's row must be there.

    Args:
        change: the change it belongs to.
        sha: the kept file.
        upload_key: the sender's own name for this sending; the same one twice is one arrival.
        name_given: what the file was called; shown, never used as a path.
        scale_spec: how its scale is known, as `--scale` takes it.
        thickness_mm: the leaf's thickness, where it was said.
        taken_at: when it was taken.

    A picture that waits already takes what is said of it now, however it came before.

    Returns:
        The arrival, and whether it is new.

    Raises:
        Mistake: the key was used for another picture.
    """
    before = change.session.scalars(select(Arrival).where(Arrival.upload_key == upload_key)).one_or_none()
    if before is not None:
        if before.file_sha256 != sha:
            raise Mistake("was used for another picture", where="upload key", do="send it with a new one")
        say_again(change, sha, scale_spec, thickness_mm)
        return before, False
    say_again(change, sha, scale_spec, thickness_mm)
    twin = next((row for row in arrivals(change.session) if row.file_sha256 == sha), None)
    if twin is not None:
        scale_spec, thickness_mm = twin.scale_spec, twin.thickness_mm
    arrival = Arrival(
        file_sha256=sha,
        upload_key=upload_key,
        name_given=name_given,
        scale_spec=scale_spec,
        thickness_mm=thickness_mm,
        taken_at=taken_at,
        at=change.at,
        by=change.who,
        state="new",
    )
    change.session.add(arrival)
    change.session.flush()
    change.record("arrival", arrival.id, "taken in", None, {"file": sha, "name_given": name_given})
    return arrival, True


def say_again(change: Change, sha: str, scale_spec: str | None, thickness_mm: float | None) -> None:
    """What is said of a picture now, for every arrival of it that waits; None says nothing."""
    waiting = select(Arrival).where(Arrival.file_sha256 == sha, Arrival.state == "new")
    for row in change.session.scalars(waiting.order_by(Arrival.id)):
        scale = scale_spec if scale_spec is not None else row.scale_spec
        thickness = thickness_mm if thickness_mm is not None else row.thickness_mm
        edit_arrival(change, row.id, scale_spec=scale, thickness_mm=thickness)


def arrivals(session: Session, state: str = "new") -> list[Arrival]:
    """What came in, oldest first; `state` is new, filed or dropped."""
    return list(session.scalars(select(Arrival).where(Arrival.state == state).order_by(Arrival.id)))


def arrival(session: Session, arrival_id: int) -> Arrival:
    """One arrival.

    Raises:
        Mistake: there is none of that number.
    """
    return numbered(session, Arrival, arrival_id, "arrival")


def file_to_pair(
    change: Change, arrival_id: int, pair_id: int, role: str, *, arrived_so: bool = True
) -> PairPhoto:
    """File an arrival to a pair; `arrived_so` marks it as the pair's photograph of arrival.

    Raises:
        Mistake: it was filed or dropped already, or there is no such pair or role.
    """
    found = _new(change.session, arrival_id)
    photo = add_photo(
        change,
        pair_id,
        found.file_sha256,
        role,
        taken_at=found.taken_at,
        arrival=arrived_so,
        note=found.name_given,
    )
    found.state, found.pair_id = "filed", pair_id
    change.record("arrival", found.id, "filed", {"state": "new"}, {"state": "filed", "pair_id": pair_id})
    return photo


def drop(change: Change, arrival_id: int) -> Arrival:
    """Put an arrival aside; `put_back` undoes it."""
    found = _new(change.session, arrival_id)
    found.state = "dropped"
    change.record("arrival", found.id, "dropped", {"state": "new"}, {"state": "dropped"})
    return found


def put_back(change: Change, arrival_id: int) -> Arrival:
    """Make a dropped arrival new again."""
    found = arrival(change.session, arrival_id)
    if found.state == "dropped":
        found.state = "new"
        change.record("arrival", found.id, "put back", {"state": "dropped"}, {"state": "new"})
    return found


def edit_arrival(
    change: Change, arrival_id: int, *, scale_spec: str | None, thickness_mm: float | None
) -> Arrival:
    """Say how an arrival's scale is known, and its thickness; nothing happens where that was said already."""
    found = _new(change.session, arrival_id)
    if (found.scale_spec, found.thickness_mm) == (scale_spec, thickness_mm):
        return found
    before = {"scale_spec": found.scale_spec, "thickness_mm": found.thickness_mm}
    found.scale_spec, found.thickness_mm = scale_spec, thickness_mm
    after = {"scale_spec": scale_spec, "thickness_mm": thickness_mm}
    change.record("arrival", found.id, "edited", before, after)
    return found


def _new(session: Session, arrival_id: int) -> Arrival:
    found = arrival(session, arrival_id)
    if found.state != "new":
        raise Mistake(f"it was {found.state} already", where=f"arrival {arrival_id}", do="look again")
    return found
