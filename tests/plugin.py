"""What must be so before Django's settings are read, and the order of the tests.

Each run gets a home folder of its own, and with ``--engine postgresql`` a
server of its own. Workers of one run share the server; each has a database
and a home in it.
"""

import atexit
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.postgres import Server

ENGINES = ("sqlite", "postgresql")


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("fraginv")
    group.addoption(
        "--engine",
        choices=ENGINES,
        help="database to run on: a SQLite file (where DATABASE_URL is not set), "
        "or a PostgreSQL server that is started for this run",
    )


@pytest.hookimpl(wrapper=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> Iterator[None]:
    """Prepare home and database before pytest-django reads the settings."""
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    if worker:
        os.environ["FRAGINV_HOME"] = str(Path(os.environ["FRAGINV_HOME"]) / worker)
    else:
        prepare_run(early_config.known_args_namespace.engine)
    yield
    ease_settings()


def prepare_run(engine: str | None) -> None:
    """Make the run's folder, and the server if it is asked for; both go when the run ends."""
    folder = Path(tempfile.mkdtemp(prefix="fraginv-"))
    folder.chmod(0o711)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["FRAGINV_HOME"] = str(folder / "home")
    if engine:
        os.environ.pop("DATABASE_URL", None)
    if engine == "postgresql":
        server = Server(folder / "pg")
        server.start()
        atexit.register(server.stop)
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that the server ends too
        os.environ["DATABASE_URL"] = server.url


def ease_settings() -> None:
    """Keep static files under their plain names and make sign-ins quick."""
    from django.conf import settings

    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)


def is_transactional(item: pytest.Item) -> bool:
    """Tell whether a test commits, so that the database is emptied after it."""
    marker = item.get_closest_marker("django_db")
    if marker and marker.kwargs.get("transaction"):
        return True
    return not {"transactional_db", "live_server"}.isdisjoint(getattr(item, "fixturenames", ()))


def restore_first(item: pytest.Item) -> None:
    """Let a test that commits find the rows that migrations bring, whatever ran before it."""
    marker = item.get_closest_marker("django_db")
    wanted = {**(marker.kwargs if marker else {}), "transaction": True, "serialized_rollback": True}
    item.add_marker(pytest.mark.django_db(**wanted), append=False)


@pytest.hookimpl(wrapper=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> Iterator[None]:
    """Mark browser tests; run tests that commit last, on a database with the migrations' rows."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
        if is_transactional(item):
            restore_first(item)
    yield
    items.sort(key=turn_of)


def turn_of(item: pytest.Item) -> tuple[bool, bool]:
    """Return when a test has its turn: those that commit last, what takes long before the rest.

    What takes long stands in a group, which one worker does alone; begun late, it would
    keep one worker busy while the others have nothing left to do.
    """
    return is_transactional(item), item.get_closest_marker("xdist_group") is None
