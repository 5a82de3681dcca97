"""Devices that may ask, and the one-time links that let them in.

The shop keeps hashes only: whoever reads a copy of the database cannot come in with it.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.change import Change
from seamlight.shop.classes import live_student, the_student
from seamlight.shop.missing import Missing
from seamlight.shop.numbered import row_of
from seamlight.shop.tables import Device, Link, WrongTry

LINK_LASTS = timedelta(minutes=10)
NAME_LENGTH = 60

# Without letters and digits that are taken for one another (as in Crockford's base 32; value from memory).
ALPHABET = "0123456789abcdefghjkmnpqrstvwxyz"
TOKEN_LETTERS = 16  # 80 bits

FREE_TRIES = 5
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=30)
TRIES_COUNT_FOR = timedelta(hours=1)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def make_link(change: Change, *, student_id: int | None = None) -> tuple[str, datetime]:
    """A new one-time link: its token and when it ends. With a student it opens only that student's page.

    Raises:
        Missing: there is no such student.
    """
    if student_id is not None:
        the_student(change.session, student_id)
    token = "".join(secrets.choice(ALPHABET) for _ in range(TOKEN_LETTERS))
    ends = change.at + LINK_LASTS
    change.session.add(
        Link(
            token_hash=_hash(token),
            kind="device" if student_id is None else "class",
            student_id=student_id,
            made_at=change.at,
            expires_at=ends,
        )
    )
    return token, ends


def plain_token(typed: str) -> str:
    """A token as it may have been typed: capitals, spaces and hyphens do not count."""
    plain = typed.lower().replace("-", "").replace(" ", "")
    return plain.replace("o", "0").replace("i", "1").replace("l", "1")


def find_link(session: Session, token: str, now: datetime) -> Link | None:
    """The link of a token, or None for a wrong token.

    Raises:
        Mistake: it was used, or its time is over.
    """
    link = session.scalar(select(Link).where(Link.token_hash == _hash(plain_token(token))))
    if link is None:
        return None
    again = "make a new one on the page Shop, Devices"
    if link.used_at is not None:
        raise Mistake("this link has been used; a link lets one device in", do=again)
    if now >= link.expires_at:
        minutes = int(LINK_LASTS.total_seconds() // 60)
        raise Mistake(f"this link's time is over; it lasts {minutes} minutes", do=again)
    return link


def links_student(session: Session, token: str, now: datetime) -> str:
    """The name of the student whose page a link opens; empty for a device of the shop.

    Raises:
        Mistake: the link was used, or its time is over.
    """
    link = find_link(session, token, now)
    return "" if link is None or link.student_id is None else _students_name(session, link.student_id)


def let_in(change: Change, token: str, name: str) -> tuple[Device, str] | None:
    """Use a link up: the new device and its own token, shown once; None for a wrong token.

    Raises:
        Mistake: the link was used, its time is over, or the device has no name.
    """
    link = find_link(change.session, token, change.at)
    if link is None:
        return None
    device_token = secrets.token_urlsafe(32)
    device = Device(
        name=_name(name) if link.student_id is None else _students_name(change.session, link.student_id),
        token_hash=_hash(device_token),
        kind=link.kind,
        student_id=link.student_id,
        paired_at=change.at,
        seen_at=change.at,
    )
    link.used_at = change.at
    change.session.add(device)
    change.session.flush()
    change.record("device", device.id, "paired", after={"name": device.name, "kind": device.kind})
    return device, device_token


def _name(typed: str) -> str:
    name = " ".join(typed.split())
    if not name:
        raise Mistake("a device needs a name", where="name", do='such as "bench phone"')
    return name[:NAME_LENGTH]


def _students_name(session: Session, student_id: int) -> str:
    student = live_student(session, student_id)
    if student is None:
        raise Mistake("this student is no longer in a class", do="ask your teacher for a new link")
    return student.name


def known_device(session: Session, token: str) -> Device | None:
    """The device of a token that is still let in."""
    return session.scalar(
        select(Device).where(Device.token_hash == _hash(token), Device.revoked_at.is_(None))
    )


def seen_at(session: Session, device_id: int) -> datetime | None:
    """When a device was here last, as far as it was noted."""
    return session.scalar(select(Device.seen_at).where(Device.id == device_id))


def seen(change: Change, device_id: int) -> None:
    """Note that a device was here."""
    change.session.execute(update(Device).where(Device.id == device_id).values(seen_at=change.at))


def devices(session: Session) -> list[Device]:
    """Devices that are let in, those seen last first."""
    rows = select(Device).where(Device.revoked_at.is_(None)).order_by(Device.seen_at.desc(), Device.id)
    return list(session.scalars(rows))


def revoke(change: Change, device_id: int) -> Device:
    """Let a device in no longer.

    Raises:
        Missing: there is no such device.
    """
    device = row_of(change.session, Device, device_id)
    if device is None:
        raise Missing("there is no such device", do="look at the list again")
    if device.revoked_at is None:
        device.revoked_at = change.at
        change.record("device", device.id, "revoked", before={"name": device.name})
    return device


def note_wrong_try(change: Change, address: str) -> None:
    """Remember that a wrong link was tried; what no longer counts is forgotten."""
    change.session.execute(delete(WrongTry).where(WrongTry.at < change.at - 2 * TRIES_COUNT_FOR))
    change.session.add(WrongTry(at=change.at, from_address=address[:60]))


def must_wait(session: Session, address: str, now: datetime) -> timedelta:
    """How long no link may be tried from this address: 0 for the first five wrong ones, then doubling.

    Whoever changes addresses is slowed as well, from ten times as many tries on.
    """
    here, last_here = _tries(session, now, address)
    anywhere, last_anywhere = _tries(session, now, None)
    return max(
        _wait(here, last_here, FREE_TRIES, now),
        _wait(anywhere, last_anywhere, 10 * FREE_TRIES, now),
    )


def _tries(session: Session, now: datetime, address: str | None) -> tuple[int, datetime | None]:
    query = select(func.count(), func.max(WrongTry.at)).where(WrongTry.at > now - TRIES_COUNT_FOR)
    if address is not None:
        query = query.where(WrongTry.from_address == address[:60])
    count, last = session.execute(query).one()
    return count, last


def _wait(tries: int, last: datetime | None, free: int, now: datetime) -> timedelta:
    if tries < free or last is None:
        return timedelta(0)
    wait: timedelta = min(FIRST_WAIT * 2 ** min(tries - free, 20), LONGEST_WAIT)
    return max(last + wait - now, timedelta(0))
