"""Big houses in homes of their own."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import django

from tests.bench.measuring import home_at
from tests.bench.world import NOON, World


@contextmanager
def house(world: World, *, engine: str, keep: Path | None = None) -> Iterator[Path]:
    """Set Django up on a house of a size, at the bench's noon; one process has one house.

    Args: ``keep`` a folder in which a house on SQLite stays for the next run.
    """
    if keep is None:
        with home_at(engine) as folder, opened(world, folder):
            yield folder
        return
    folder = keep / f"{world.frags}{'-told' if world.told else ''}"
    folder.mkdir(parents=True, exist_ok=True)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    os.environ["FRAGINV_HOME"] = str(folder)
    django.setup()
    with opened(world, folder):
        yield folder


@contextmanager
def opened(world: World, folder: Path) -> Iterator[None]:
    """Build a house where there is none yet, and let it be noon."""
    from django.core.management import call_command

    from fraginv.base import clock

    with clock.at(NOON):
        call_command("migrate", verbosity=0)
        if not (folder / "built").exists():
            build(world)
            (folder / "built").touch()
        call_command("collectstatic", interactive=False, verbosity=0)
        yield


def build(world: World) -> None:
    """Write a house into an empty database."""
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection, transaction

    from tests.bench import papers, troughs

    with transaction.atomic():
        person = troughs.found()
        drawn = troughs.write_places(world, person=person)
        troughs.write_frags(world, person=person, drawn=drawn)
        papers.write_customers(world, person=person)
        papers.write_sales(world, person=person)
        fill_sums()
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), list(apps.get_models())):
            cursor.execute(sql)
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE")  # as it does by itself


def fill_sums() -> None:
    """Count the sums and write the words that the project keeps, as its own migrations do."""
    from fraginv.base.actions.tallies import fill_tallies
    from fraginv.ledger.queries import ledger_tallies
    from fraginv.stock.queries.tallies import stock_tallies
    from fraginv.trade.queries.tallies import trade_tallies

    for counted in (stock_tallies(), trade_tallies(), ledger_tallies()):
        fill_tallies(counted)
    write_all_words()


def write_all_words() -> None:
    """Write the words by which things are found, as the project's own migrations do."""
    from fraginv.base.actions.words import write_words
    from fraginv.stock.models import System, Trough
    from fraginv.stock.queries import places, varieties
    from fraginv.trade.models import Customer
    from fraginv.trade.queries import finding

    write_words(varieties.names_of(varieties.varieties()), kind=varieties.KIND)
    troughs = Trough.objects.select_related("system")
    write_words(places.names_of_systems(System.objects.all()), kind=places.SYSTEM)
    write_words(places.names_of_troughs(troughs), kind=places.TROUGH)
    write_words(places.names_of_racks(places.racks()), kind=places.RACK)
    customers = Customer.objects.select_related("party")
    write_words(finding.names_of(customers), kind=finding.KIND)
