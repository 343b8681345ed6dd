"""Big houses in homes of their own, built once and kept as long as the bench runs."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import django

from tests.bench.world import NOON, World


@contextmanager
def house(world: World, *, keep: Path | None = None) -> Iterator[None]:
    """Set Django up on a house of its own.

    One process has one house: a bench measures each size in a process for itself.
    Args: ``keep`` a folder in which a house that was built stays for the next run.
    """
    with tempfile.TemporaryDirectory(prefix="fraginv-bench-") as folder:
        home = keep or Path(folder)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
        os.environ["FRAGINV_HOME"] = str(home)
        os.environ["FRAGINV_HOST"] = "testserver"
        django.setup()
        from django.core.management import call_command

        from fraginv.base import clock

        with clock.at(NOON):
            if not (home / "built").exists():
                build(world)
                (home / "built").touch()
            call_command("collectstatic", interactive=False, verbosity=0)
            yield


def build(world: World) -> None:
    """Write a house into an empty database."""
    from django.apps import apps
    from django.core.management import call_command
    from django.core.management.color import no_style
    from django.db import connection, transaction

    from tests.bench import papers, troughs

    call_command("migrate", verbosity=0)
    with transaction.atomic():
        person = troughs.found()
        drawn = troughs.write_places(world, person=person)
        troughs.write_frags(world, person=person, drawn=drawn)
        papers.write_customers(world, person=person)
        papers.write_sales(world, person=person)
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), apps.get_models()):
            cursor.execute(sql)
        cursor.execute("ANALYZE")
