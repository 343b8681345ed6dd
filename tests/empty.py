"""Empty homes and empty databases, on the engine under test and on the other one."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote
from uuid import uuid4

import psycopg
from django.db import connection
from psycopg import sql

from tests.front.running import Line
from tests.postgres import PACKAGE, PROGRAMS, Server

PG_PROGRAMS = PACKAGE / PROGRAMS / "bin"


def server_url() -> str:
    """Return the address of the server under test, without a database."""
    row = connection.settings_dict
    return f"postgresql://{row['USER']}@{quote(str(row['HOST']), safe='')}"


@contextmanager
def database_on(url: str) -> Iterator[str]:
    """Make an empty database on a server; it goes afterwards."""
    name = f"empty_{uuid4().hex[:12]}"
    with psycopg.connect(f"{url}/postgres", autocommit=True) as session:
        session.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            yield f"{url}/{name}"
        finally:
            session.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


@contextmanager
def running_server() -> Iterator[str]:
    """Run a PostgreSQL server of this test's own; yield its address without a database."""
    with tempfile.TemporaryDirectory(prefix="fraginv-other-") as folder:
        os.chmod(folder, 0o711)
        server = Server(Path(folder) / "pg")
        server.start()
        try:
            yield server.url.removesuffix("/postgres")
        finally:
            server.stop()


@contextmanager
def empty_home(home: Path, *, server: str = "") -> Iterator[Line]:
    """Give the command line of an empty home: on SQLite, or on a new database of a server."""
    if not server:
        yield Line(home)
        return
    with database_on(server) as url:
        yield Line(home, {"DATABASE_URL": url, "FRAGINV_PG_PROGRAMS": str(PG_PROGRAMS)})


@contextmanager
def home_under_test(home: Path) -> Iterator[Line]:
    """Give the command line of an empty home on the engine under test."""
    server = server_url() if connection.vendor == "postgresql" else ""
    with empty_home(home, server=server) as line:
        yield line
