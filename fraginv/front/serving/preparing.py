"""What is done before the pages are served, and serving them."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection, connections

from fraginv.base.errors import InputError
from fraginv.base.home import close_key, home_in_words
from fraginv.base.rules.trouble import database_trouble
from fraginv.front.rules.places import Place
from fraginv.front.serving.lock import HomeLock
from fraginv.front.serving.supervisor import Child, watch_over
from fraginv.upkeep.actions.upgrading import bring_up_to_date


def prepare() -> list[str]:
    """Bring the database up to date and put the static files where they are served from.

    Returns: what had to be set right, in a sentence each.
    Raises: InputError where the home or the database cannot be used.
    """
    said = []
    if close_key(settings.FRAGINV_HOME):
        said.append("Others could read the signing key; now its owner alone can.")
    with home_in_words(settings.FRAGINV_HOME), database_in_words():
        made = bring_up_to_date()
        if made is not None:
            said.append(f"Before the upgrade a backup was made: {made.file}.")
        call_command("collectstatic", verbosity=0, interactive=False)
    return said


@contextmanager
def database_in_words() -> Iterator[None]:
    """Turn a database that does not answer or cannot write into a sentence.

    Raises: InputError.
    """
    try:
        yield
    except OperationalError as error:
        sqlstate = getattr(error.__cause__, "sqlstate", None)
        is_sqlite = connection.vendor == "sqlite"
        trouble = database_trouble(str(error), sqlstate=sqlstate, is_sqlite=is_sqlite)
        if trouble is None:
            raise
        advice = "Make room, or let this user write there."
        if not is_sqlite:
            advice = "See that its server runs, and that DATABASE_URL names it."
        reason = " ".join(str(error).split())
        raise InputError(f"{trouble.heading}: {reason}. {advice}") from error


def serve(place: Place, *, works: bool, lock: HomeLock) -> None:
    """Serve the pages, and work off what waits, until somebody asks to stop."""
    connections.close_all()
    sys.stdout.flush()
    lock.note(url=place_url(place))
    try:
        watch_over([served(place), *([worker()] if works else [])])
    finally:
        lock.let_go()


def place_url(place: Place) -> str:
    """Return the address of the start page, as people open it."""
    name = settings.ENVIRONMENT.hosts[0].lstrip(".")
    return place.url(name, https=settings.ENVIRONMENT.https)


def served(place: Place) -> Child:
    """Return the application server."""
    options = "python:fraginv.front.serving.options"
    command = [sys.executable, "-m", "gunicorn", "--config", options, "--bind", place.bind]
    return Child("server", command, surroundings())


def worker() -> Child:
    """Return the worker."""
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "work"]
    return Child("worker", command, surroundings())


def surroundings() -> dict[str, str]:
    """Return the environment in which a child finds this code and the same settings."""
    kept = {name: value for name, value in os.environ.items() if name != "FRAGINV_PASSWORD"}
    return {
        **kept,
        "DJANGO_SETTINGS_MODULE": "fraginv.settings",
        "FRAGINV_HOME": str(settings.FRAGINV_HOME),
        "PYTHONPATH": str(settings.BASE_DIR),
    }
