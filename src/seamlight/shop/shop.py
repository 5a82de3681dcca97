"""An open shop: reading, changing, its files, and holding it while it is served."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from seamlight.shop.change import Change
from seamlight.shop.disk import Disk
from seamlight.shop.engine import SERVER_LOCK
from seamlight.shop.faults import told
from seamlight.shop.files import Files
from seamlight.shop.hold import being_served, hold_folder
from seamlight.shop.made import Made
from seamlight.shop.sent import counted_once
from seamlight.shop.turn import Turn

DATABASE, PHOTOS, MADE, COPIES = "shop.db", "photos", "made", "copies"


@dataclass(frozen=True)
class Shop:
    """One workshop: a folder and its database.

    Rows read in a block may be used after it; nothing is fetched later on.
    """

    folder: Path
    engine: Engine
    clock: Callable[[], datetime]
    disk: Disk
    _writing: Turn = field(default_factory=Turn, repr=False, compare=False)

    @property
    def files(self) -> Files:
        """The kept photographs and papers."""
        return Files(self.folder / PHOTOS, self.disk)

    @property
    def made(self) -> Made:
        """Things that can be made again."""
        return Made(self.folder / MADE)

    @property
    def on_sqlite(self) -> bool:
        """Whether the rows lie in the folder too."""
        return self.engine.dialect.name == "sqlite"

    @property
    def where(self) -> str:
        """The database, as a person is told it; never a password."""
        return str(self.folder / DATABASE) if self.on_sqlite else "the PostgreSQL database"

    @contextmanager
    def read(self) -> Iterator[Session]:
        """One look at the shop as it is at this moment; what is changed in it is not kept."""
        with told(self.where), Session(self.engine, expire_on_commit=False, autoflush=False) as session:
            yield session

    @contextmanager
    def change(self, who: str) -> Iterator[Change]:
        """One change, kept as a whole when the block ends, and not at all after an exception.

        Changes wait for one another. When this returns, the change outlasts a power failure.

        Args:
            who: who does it: owner, a device's name, a student's name, command line.

        Raises:
            SentBefore: the form that asks for it was sent and kept before.
        """
        engine = self.engine.execution_options(to_change=True)
        with self._writing.taken(), told(self.where), Session(engine, expire_on_commit=False) as session:
            # Begun at once, so that the time is taken after the wait for other changes.
            session.connection()
            change = Change(session, who, self.clock(), self.files)
            with counted_once(change):
                yield change
                session.commit()
            self.disk.committed()

    @contextmanager
    def hold(self) -> Iterator[None]:
        """Hold the shop as its only server until the block ends.

        Raises:
            Mistake: another server holds it.
        """
        with hold_folder(self.folder):
            if self.on_sqlite:
                yield
                return
            with told(self.where), self.engine.connect() as connection:
                got = connection.execute(text("SELECT pg_try_advisory_lock(:key)"), {"key": SERVER_LOCK})
                if not got.scalar():
                    raise being_served(self.where)
                connection.rollback()
                try:
                    yield
                finally:
                    connection.execute(text("SELECT pg_advisory_unlock(:key)"), {"key": SERVER_LOCK})

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()
