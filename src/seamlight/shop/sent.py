"""Whatever was sent counts once: a change remembers, in its own transaction, the form that asked for it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from seamlight.shop.change import Change
from seamlight.shop.tables import Sent

REMEMBERED_FOR = timedelta(days=7)


class SentBefore(Exception):
    """This very form, with the same fields, was sent and kept before.

    Attributes:
        address: where its answer led; None where that is not known.
    """

    def __init__(self, address: str | None) -> None:
        self.address = address
        super().__init__("sent and kept before")


@dataclass
class Sending:
    """A form on its way.

    Attributes:
        form: the form's own number, made when it was shown.
        key: of the form and of what it says.
        kept: whether a change of this request was committed.
        other: whether the same form was kept before, saying something else.
    """

    form: str
    key: str
    kept: bool = False
    other: bool = False

    @classmethod
    def of(cls, form: str, address: str, fields: Iterable[tuple[str, str]]) -> Sending:
        """From what the form says; `fields` without what differs from one sending to the next."""
        digest = hashlib.sha256()
        for part in (form, address, *(text for field in fields for text in field)):
            digest.update(f"{len(part)} {part}".encode("utf-8", "surrogatepass"))
        return cls(hashlib.sha256(form.encode("utf-8", "surrogatepass")).hexdigest(), digest.hexdigest())


sending: ContextVar[Sending | None] = ContextVar("sending", default=None)


def check_unsent(session: Session, asked: Sending) -> None:
    """Refuse to do again what was done.

    Raises:
        SentBefore: it was.
    """
    row = session.get(Sent, asked.key)
    if row is not None:
        raise SentBefore(row.address)
    asked.other = (
        session.scalars(select(Sent.key).where(Sent.form == asked.form).limit(1)).first() is not None
    )


@contextmanager
def counted_once(change: Change) -> Iterator[None]:
    """Around a change until it is committed: the form that asked for it is remembered with it.

    Raises:
        SentBefore: the form was kept before; nothing is done again.
    """
    asked = sending.get()
    if asked is None or asked.kept:
        yield
        return
    check_unsent(change.session, asked)
    change.session.execute(delete(Sent).where(Sent.at < change.at - REMEMBERED_FOR))
    change.session.add(Sent(key=asked.key, form=asked.form, address=None, at=change.at))
    yield
    asked.kept = True


def remember_answer(change: Change, asked: Sending, address: str) -> None:
    """Where the answer to a kept form leads."""
    change.session.execute(update(Sent).where(Sent.key == asked.key).values(address=address))
