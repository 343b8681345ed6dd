"""How a connection is kept, told by the process and thread that uses it.

``application`` is the project's own, which tells it with each page.
"""

import json
import os
import threading
import time
from collections.abc import Callable, Iterable
from typing import Any

from django.db import connection

from fraginv.base.tasks import later
from fraginv.wsgi import application as served

# SQLite's documentation of PRAGMA synchronous: 2 is FULL.
KEPT: dict[str, dict[str, object]] = {
    "sqlite": {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "busy_timeout": 20_000,
    },
    "postgresql": {"isolation": "read committed", "set_here": []},
}
HEADER = "X-Kept"
# What PostgreSQL waits for before it says that something is kept is said to its server; whoever
# lowered it for one connection would show in where the value came from.
SAFETY = "('synchronous_commit', 'fsync', 'full_page_writes')"
HERE = "('session', 'client', 'user', 'database', 'database user', 'interactive', 'override')"


def kept_settings() -> dict[str, object]:
    """Read back how the connection of this thread is kept."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            return {name: pragma(cursor, name) for name in KEPT["sqlite"]}
        cursor.execute("SHOW transaction_isolation")
        (isolation,) = cursor.fetchone()
        cursor.execute(
            f"SELECT name FROM pg_settings WHERE name IN {SAFETY} AND source IN {HERE} ORDER BY 1"
        )
        return {"isolation": isolation, "set_here": [name for (name,) in cursor.fetchall()]}


def pragma(cursor: Any, name: str) -> object:
    """Return the value of a pragma."""
    cursor.execute(f"PRAGMA {name}")
    return cursor.fetchone()[0]


def application(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    """Answer as the project does, and tell how the connection that did it is kept.

    It takes a moment, so that pages asked for at once are answered by several threads.
    """

    def begin(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
        told = {
            "process": os.getpid(),
            "thread": threading.get_ident(),
            "was_open": connection.connection is not None,
            "kept": kept_settings(),
        }
        time.sleep(0.1)
        return start(status, [*headers, (HEADER, json.dumps(told))], *rest)

    pages: Iterable[bytes] = served(environ, begin)
    return pages


@later(title="Look how the connection is kept", tries=1)
def look_how_it_is_kept() -> None:
    """Fail where waiting work is done on a connection that is kept otherwise."""
    found, wanted = kept_settings(), KEPT[connection.vendor]
    assert found == wanted, f"{found}, not {wanted}"
