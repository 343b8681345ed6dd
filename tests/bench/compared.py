"""Pages of a house with 100,000 living and 1,000,000 ended frags, against a tenth of both.

Each house is built in a process and home of its own (``--engine postgresql`` on
PostgreSQL), and its pages are opened in turns. The CPU time of this process counts, and on
PostgreSQL that of the server's process which answers it.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import django

from tests.bench.inside import Case
from tests.bench.measuring import Asked, home_at, run, say
from tests.bench.table import Row
from tests.bench.world import NOON, World

SMALL, BIG = World(110_000, alive=10_000), World(1_100_000, alive=100_000)
PAGE_GOAL = 1.5
TIMES = 8


@dataclass(frozen=True)
class Measured:
    """One page: its time in ms, the statements that it asks, and the size of its answer."""

    ms: float
    statements: int
    kib: float


@dataclass(frozen=True)
class Bench:
    """What is compared: how a house is built, which pages are opened, what is said of each."""

    module: str
    build: Callable[[World], object]
    paths: Callable[[World], Mapping[str, str]]
    rows: Callable[[str, Measured, Measured], Iterator[Row]]

    def compared(self, asked: Asked) -> Iterator[Row]:
        """Measure both houses, and count what each page asks the database."""
        small, big = (self.inside(world, asked) for world in (SMALL, BIG))
        for case, found in big.items():
            yield from self.rows(case, found, small[case])
            most = small[case].statements
            if found.statements > most:
                yield Row(f"more statements: {case}", "", found.statements, goal=most, unit="")

    def inside(self, world: World, asked: Asked) -> dict[str, Measured]:
        """Measure one house in a process of its own."""
        command = [sys.executable, "-m", self.module, "--house", f"{world.frags}"]
        command += ["--alive", f"{world.alive}", "--rounds", f"{asked.rounds}"]
        command += ["--engine", asked.engine]
        done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
        found = json.loads(done.stdout.splitlines()[-1])
        return {case: Measured(*figures) for case, figures in found.items()}

    def one_house(self, options: Any) -> None:
        """Build a house unless it is kept from before, measure in it, and print."""
        world = World(options.house, alive=options.alive)
        with home_kept(options.keep) if options.keep else home_at(options.engine) as folder:
            from django.core.management import call_command

            from fraginv.base import clock
            from tests.bench.pages import write_logs_nowhere

            with clock.at(NOON):
                call_command("migrate", verbosity=0)
                call_command("collectstatic", interactive=False, verbosity=0)
                if not (folder / "built").exists():
                    self.build(world)
                    tidy()
                    (folder / "built").touch()
                write_logs_nowhere()
                say(json.dumps(measure(self.paths(world), rounds=options.rounds)))


def build(world: World) -> None:
    """Write the stock of a house and its customers into an empty database."""
    from django.db import transaction

    from tests.bench import papers, troughs
    from tests.bench.building import write_all_words

    with transaction.atomic():
        person = troughs.found()
        drawn = troughs.write_places(world, person=person)
        troughs.write_frags(world, person=person, drawn=drawn, with_events=False)
        papers.write_customers(world, person=person)
        write_all_words()


def tidy() -> None:
    """Do what must be done after rows were written past the models, and what PostgreSQL does.

    After many rows came in it looks at a table, and notes of which pages all rows may be
    seen, by itself.
    """
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection

    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), list(apps.get_models())):
            cursor.execute(sql)
        if connection.vendor == "postgresql":
            cursor.execute("VACUUM (ANALYZE)")


def measure(paths: Mapping[str, str], *, rounds: int) -> dict[str, tuple[float, int, float]]:
    """Return of each page the median time in ms, its statements, and its size in KiB."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from fraginv.base.models import Person

    client = Client(SERVER_NAME="localhost")
    client.force_login(Person.objects.get(), backend="django.contrib.auth.backends.ModelBackend")
    told: dict[str, tuple[int, float]] = {}
    for name, path in paths.items():
        with CaptureQueriesContext(connection) as caught:
            answer = client.get(path)
        if answer.status_code not in {200, 302} and not (
            answer.status_code == 404 and "/find" in path
        ):
            raise RuntimeError(f"{path} answers {answer.status_code}")
        told[name] = len(caught), len(answer.content) / 1024
    turns: dict[str, list[float]] = {name: [] for name in paths}
    for _ in range(rounds):
        for name, path in paths.items():
            turns[name].append(cpu_ms(partial(client.get, path)))
    return {name: (statistics.median(turns[name]), *told[name]) for name in paths}


def cpu_ms(work: Case) -> float:
    """Return the CPU time of one run in ms, over many.

    Linux says in ``schedstat`` for how many nanoseconds a process has run.
    """
    from django.db import connection

    pids = ["self"]
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_backend_pid()")
            pids.append(str(cursor.fetchone()[0]))

    def spent() -> int:
        return sum(int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) for pid in pids)

    start = spent()
    for _ in range(TIMES):
        work()
    return (spent() - start) / TIMES / 1_000_000


@contextmanager
def home_kept(folder: Path) -> Iterator[Path]:
    """Set Django up in a folder in which a house on SQLite stays for the next run."""
    folder.mkdir(parents=True, exist_ok=True)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    os.environ["FRAGINV_HOME"] = str(folder)
    django.setup()
    yield folder


def main(bench: Bench) -> None:
    """Measure one house where one is asked for, else compare both."""
    parser = argparse.ArgumentParser(prog=f"python -m {bench.module}", add_help=False)
    parser.add_argument("--house", type=int)
    parser.add_argument("--alive", type=int, default=0)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--keep", type=Path, help="a folder in which a house on SQLite stays")
    parser.add_argument("--engine", default="sqlite")
    options, _ = parser.parse_known_args()
    if options.house:
        bench.one_house(options)
    else:
        run(bench.module, bench.compared, rounds=5)
