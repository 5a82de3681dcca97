"""The rows as they are at one moment, in one file or in plain lines."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import JSON, Connection, Engine, MetaData, Table, select

from seamlight.shop.disk import Disk
from seamlight.shop.schema import VERSION_TABLE

LINES_AT_ONCE = 500


def copy_sqlite(engine: Engine, target: Path) -> None:
    """Copy a SQLite database whole, whoever is at work on it (sqlite.org/backup.html); flushed."""
    with engine.connect() as connection:
        source = connection.connection.driver_connection
        assert isinstance(source, sqlite3.Connection)
        copy = sqlite3.connect(target)
        try:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        finally:
            copy.close()
    Disk().flush(target)


def tables_of(connection: Connection) -> list[Table]:
    """The tables that are there, whatever their version; those that are referred to come first."""
    there = MetaData()
    there.reflect(connection)
    for table in there.tables.values():
        for column in table.columns:
            if isinstance(column.type, JSON):
                column.type = JSON(none_as_null=True)
    return [table for table in there.sorted_tables if table.name != VERSION_TABLE]


def lines_of(connection: Connection, table: Table) -> Iterator[str]:
    """A table's rows, each as one line of JSON."""
    keys = list(table.primary_key.columns)
    for row in connection.execute(select(table).order_by(*keys)).mappings():
        yield json.dumps({name: _said(value) for name, value in row.items()}, ensure_ascii=False)


def load_lines(connection: Connection, table: Table, lines: Iterator[str]) -> int:
    """Put rows back; the table must be empty.

    Returns:
        How many.
    """
    count, waiting = 0, []
    for line in lines:
        row = json.loads(line)
        waiting.append({name: _value(table, name, value, connection) for name, value in row.items()})
        if len(waiting) == LINES_AT_ONCE:
            connection.execute(table.insert(), waiting)
            count, waiting = count + len(waiting), []
    if waiting:
        connection.execute(table.insert(), waiting)
    return count + len(waiting)


def _said(value: Any) -> Any:
    if isinstance(value, datetime):
        return (value if value.tzinfo else value.replace(tzinfo=UTC)).astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def _value(table: Table, name: str, value: Any, connection: Connection) -> Any:
    if not isinstance(value, str):
        return value
    kind = table.columns[name].type.python_type if not _is_json(table, name) else str
    if kind is datetime:
        moment = datetime.fromisoformat(value)
        return moment.replace(tzinfo=None) if connection.dialect.name == "sqlite" else moment
    return date.fromisoformat(value) if kind is date else value


def _is_json(table: Table, name: str) -> bool:
    return isinstance(table.columns[name].type, JSON)
