"""Which version the tables are of, and bringing them to this program's."""

from __future__ import annotations

from functools import cache

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect, text

from seamlight.mistake import Mistake
from seamlight.shop.given_numbers import last_numbers, set_last_numbers

VERSION_TABLE = "schema_version"


def config_for(connection: Connection | None = None) -> Config:
    """Alembic's settings, with the steps of this package."""
    config = Config()
    config.set_main_option("script_location", "seamlight.shop:migrations")
    config.attributes["connection"] = connection
    return config


@cache
def newest() -> str:
    """The version this program writes."""
    head = ScriptDirectory.from_config(config_for()).get_current_head()
    assert head is not None
    return head


def known(version: str) -> bool:
    """Whether this program has ever written that version."""
    steps = ScriptDirectory.from_config(config_for()).walk_revisions()
    return any(step.revision == version for step in steps)


def version_of(connection: Connection) -> str | None:
    """The version of the tables that are there; None where there are none."""
    context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
    return context.get_current_revision()


def check_known(version: str, where: str) -> None:
    """Refuse tables of a program newer than this one.

    Raises:
        Mistake: they are.
    """
    if not known(version):
        raise Mistake(
            f"was written by a newer Seamlight (tables {version}; this one knows {newest()})",
            where=where,
            do="use that version, or a newer one",
        )


def migrate(engine: Engine, to: str = "head") -> None:
    """Bring the tables to a version, in one transaction: after a crash they are the old ones still.

    Raises:
        RuntimeError: a reference would be broken; nothing was changed.
    """
    with engine.connect() as connection:
        sqlite = connection.dialect.name == "sqlite"
        if sqlite:
            # Tables are made anew; meanwhile no reference is followed (sqlite.org/lang_altertable.html).
            connection.connection.cursor().execute("PRAGMA foreign_keys=OFF")
        try:
            with connection.execution_options(to_change=True).begin():
                numbers = last_numbers(connection) if sqlite else {}
                command.upgrade(config_for(connection), to)
                if sqlite:
                    set_last_numbers(connection, numbers, numbers)
                if sqlite and connection.execute(text("PRAGMA foreign_key_check")).first():
                    raise RuntimeError("a step of the tables would break a reference")
        finally:
            if sqlite:
                connection.connection.cursor().execute("PRAGMA foreign_keys=ON")


def has_tables(connection: Connection) -> bool:
    """Whether anything at all is in the database."""
    return bool(inspect(connection).get_table_names())
