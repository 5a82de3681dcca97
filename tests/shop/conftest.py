"""A shop on SQLite and on PostgreSQL; the server is started here, on a socket of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from keeping import Clock
from sqlalchemy import create_engine, text

from seamlight.shop import Shop, open_shop
from seamlight.shop.engine import postgres_engine
from seamlight.shop.schema import migrate

SERVER = "postgres"  # Debian's name for the account that may run it


def _run(*command: str | Path) -> None:
    """Run a program of the server, never as root: it refuses that."""
    who = {"user": SERVER} if os.name != "nt" and os.geteuid() == 0 else {}
    subprocess.run(
        [str(part) for part in command], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, **who
    )


@pytest.fixture(scope="session")
def postgres() -> Iterator[Callable[[], str]]:
    """Gives the URL of a new, empty database at every call; skips where no server is installed."""
    binaries = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not binaries:
        pytest.skip("needs Debian's package postgresql, absent here")  # a failure under CI
    home = Path(tempfile.mkdtemp(prefix="seamlight-pg-"))
    home.chmod(0o777)
    data, tools = home / "data", binaries[-1]
    _run(tools / "initdb", "-D", data, "-A", "trust", "-U", "shop", "-E", "UTF8", "--locale=C", "--no-sync")
    quick = f"-k {home} -c listen_addresses= -c fsync=off -c max_connections=60 -c shared_buffers=16MB"
    _run(tools / "pg_ctl", "-D", data, "-w", "-l", home / "log", "-o", quick, "start")
    root = f"postgresql+psycopg://shop@/postgres?host={home}"
    admin = create_engine(root, isolation_level="AUTOCOMMIT")
    numbers = count()

    def new(template: str = "template1") -> str:
        name = f"shop_{next(numbers)}"
        with admin.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
        return f"postgresql://shop@/{name}?host={home}"

    try:
        yield new
    finally:
        admin.dispose()
        _run(tools / "pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(home, ignore_errors=True)


@pytest.fixture(scope="session")
def ready(postgres: Callable[..., str]) -> Callable[[], str]:
    """As `postgres`, with the tables in it."""
    url = postgres()
    engine = postgres_engine(url)
    migrate(engine)
    engine.dispose()
    template = url.partition("@/")[2].partition("?")[0]
    return lambda: postgres(template)


@pytest.fixture(scope="session")
def empty_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an empty shop, to be copied."""
    folder = tmp_path_factory.mktemp("empty") / "shop"
    open_shop(folder, create=True).close()
    return folder


@pytest.fixture
def clock() -> Clock:
    """The shop's clock."""
    return Clock()


@pytest.fixture
def on_sqlite(tmp_path: Path, empty_shop: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop on SQLite."""
    shutil.copytree(empty_shop, tmp_path / "shop")
    opened = open_shop(tmp_path / "shop", clock=clock)
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", "postgres"])
def shop(request: pytest.FixtureRequest, tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop, once on each database."""
    if request.param == "sqlite":
        yield request.getfixturevalue("on_sqlite")
        return
    opened = open_shop(tmp_path / "shop", url=request.getfixturevalue("ready")(), create=True, clock=clock)
    yield opened
    opened.close()
