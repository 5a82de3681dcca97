"""A PostgreSQL of the tests' own, on a socket of its own; a conftest takes its fixtures by importing them."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from seamlight.shop.engine import postgres_engine
from seamlight.shop.schema import migrate

SERVER = "postgres"  # Debian's name for the account that may run it


def _run(*command: str | Path) -> None:
    """Run a program of the server, never as root: it refuses that."""
    who = {"user": SERVER} if os.name != "nt" and os.geteuid() == 0 else {}
    subprocess.run(
        [str(part) for part in command], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, **who
    )


@dataclass(frozen=True)
class Server:
    """A running PostgreSQL; databases are made and dropped in it."""

    home: Path
    numbers: Iterator[int] = field(default_factory=count)

    def url(self, name: str) -> str:
        """The URL of one of its databases."""
        return f"postgresql://shop@/{name}?host={self.home}"

    def do(self, statement: str) -> None:
        """Say one statement as its owner."""
        admin = create_engine(
            self.url("postgres").replace("://", "+psycopg://"), isolation_level="AUTOCOMMIT"
        )
        with admin.connect() as connection:
            connection.execute(text(statement))
        admin.dispose()

    def new(self, template: str = "template1") -> str:
        """The name of a new database."""
        name = f"shop_{next(self.numbers)}"
        self.do(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """PostgreSQL on a socket of its own; skips where it is not installed, which fails under CI."""
    binaries = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not binaries:
        pytest.skip("needs Debian's package postgresql, absent here")
    home = Path(tempfile.mkdtemp(prefix="seamlight-pg-"))
    home.chmod(0o777)
    data, tools = home / "data", binaries[-1]
    _run(tools / "initdb", "-D", data, "-A", "trust", "-U", "shop", "-E", "UTF8", "--locale=C", "--no-sync")
    quick = f"-k {home} -c listen_addresses= -c fsync=off -c max_connections=60 -c shared_buffers=16MB"
    _run(tools / "pg_ctl", "-D", data, "-w", "-t", "120", "-l", home / "log", "-o", quick, "start")
    try:
        yield Server(home)
    finally:
        _run(tools / "pg_ctl", "-D", data, "-m", "immediate", "-t", "120", "stop")
        shutil.rmtree(home, ignore_errors=True)


@pytest.fixture(scope="session")
def with_tables(server: Server) -> str:
    """The name of a database that has the tables, to be copied."""
    name = server.new()
    engine = postgres_engine(server.url(name))
    migrate(engine)
    engine.dispose()
    return name


def _databases(server: Server, template: str) -> Iterator[Callable[[], str]]:
    names: list[str] = []

    def new() -> str:
        names.append(server.new(template))
        return server.url(names[-1])

    yield new
    for name in names:
        server.do(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def postgres(server: Server) -> Iterator[Callable[[], str]]:
    """Gives the URL of a new, empty database at every call; it is dropped after the test."""
    yield from _databases(server, "template1")


@pytest.fixture
def ready(server: Server, with_tables: str) -> Iterator[Callable[[], str]]:
    """As `postgres`, with the tables in it."""
    yield from _databases(server, with_tables)
