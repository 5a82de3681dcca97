"""The last number each table gave: none is given twice, though its row may be gone."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, text


def last_numbers(connection: Connection, tables: Iterable[str] = ()) -> dict[str, int]:
    """The last number each table gave, though its row may be gone: none is given twice."""
    if connection.dialect.name == "sqlite":
        if not connection.scalar(text("SELECT count(*) FROM sqlite_master WHERE name = 'sqlite_sequence'")):
            return {}
        rows = connection.execute(text("SELECT name, seq FROM sqlite_sequence"))
        return {str(name): int(seq) for name, seq in rows}
    found: dict[str, int] = {}
    for table in tables:
        sequence = _sequence(connection, table)
        if sequence is not None:
            last, called = connection.execute(text(f"SELECT last_value, is_called FROM {sequence}")).one()
            found[table] = int(last) if called else 0
    return found


def set_last_numbers(connection: Connection, tables: Iterable[str], numbers: dict[str, int]) -> None:
    """The next number of each table comes after these, and after its own highest."""
    for table in tables:
        if connection.dialect.name == "sqlite":
            given = {"name": table, "seq": numbers.get(table, 0)}
            connection.execute(
                text("UPDATE sqlite_sequence SET seq = max(seq, :seq) WHERE name = :name"), given
            )
            connection.execute(
                text(
                    "INSERT INTO sqlite_sequence (name, seq) SELECT :name, :seq WHERE :seq > 0"
                    " AND NOT EXISTS (SELECT 1 FROM sqlite_sequence WHERE name = :name)"
                ),
                given,
            )
            continue
        sequence = _sequence(connection, table)
        if sequence is not None:
            last = connection.scalar(text(f'SELECT coalesce(max(id), 0) FROM "{table}"'))
            number = max(int(last or 0), numbers.get(table, 0))
            connection.execute(
                text("SELECT setval(:sequence, :number, :called)"),
                {"sequence": sequence, "number": max(number, 1), "called": number > 0},
            )


def _sequence(connection: Connection, table: str) -> str | None:
    found = connection.scalar(
        text(
            "SELECT pg_get_serial_sequence(quote_ident(table_name), 'id') FROM information_schema.columns"
            " WHERE table_schema = current_schema() AND table_name = :table AND column_name = 'id'"
        ),
        {"table": table},
    )
    return None if found is None else str(found)
