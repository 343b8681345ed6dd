"""Lists and search with 100,000 living and 1,000,000 ended frags, against a tenth of both.

``python -m tests.bench.lists`` builds a house of each size in a process and home of its
own (``--engine postgresql`` on PostgreSQL), without events and papers, which no list asks
for. Each list is opened at its beginning, at nine tenths and, narrowed to what hardly
anything is, to where it was looked at in part. On SQLite the process's CPU time counts, on
PostgreSQL, which works in a process of its own, the time that passes.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import django

from tests.bench.inside import Case
from tests.bench.measuring import Asked, home_at, run, say
from tests.bench.table import Row
from tests.bench.world import NOON, World

MODULE = "tests.bench.lists"
SMALL, BIG = World(110_000, alive=10_000), World(1_100_000, alive=100_000)
PAGE_GOAL, SEARCH_GOAL_MS = 1.5, 50.0
TIMES = 8


def rows(asked: Asked) -> Iterator[Row]:
    """Measure both houses, and count what each page asks the database."""
    small, big = (inside(world, asked) for world in (SMALL, BIG))
    for case, (taken, statements) in big.items():
        least, fewest = small[case]
        if case.startswith(("find", "type")):
            yield Row(f"search: {case}", "100k living", taken, goal=SEARCH_GOAL_MS)
        else:
            yield Row(f"list: {case}", "100k : 10k living", taken, least, PAGE_GOAL)
        if statements > fewest:
            yield Row(f"more statements: {case}", f"{fewest}", statements, goal=fewest, unit="")


def inside(world: World, asked: Asked) -> dict[str, list[float]]:
    """Measure one house in a process of its own."""
    command = [sys.executable, "-m", f"{MODULE}", "--house", f"{world.frags}"]
    command += ["--alive", f"{world.alive}", "--rounds", f"{asked.rounds}"]
    command += ["--engine", asked.engine]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    found: dict[str, list[float]] = json.loads(done.stdout.splitlines()[-1])
    return found


def build(world: World) -> None:
    """Write the stock of a house and its customers into an empty database."""
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection, transaction

    from tests.bench import papers, troughs
    from tests.bench.building import write_all_words

    with transaction.atomic():
        person = troughs.found()
        drawn = troughs.write_places(world, person=person)
        troughs.write_frags(world, person=person, drawn=drawn, with_events=False)
        papers.write_customers(world, person=person)
        write_all_words()
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), list(apps.get_models())):
            cursor.execute(sql)
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE")  # as it does by itself


LISTS: dict[str, str] = {
    "all": "",
    "all, at nine tenths": "after={deep}",
    "ready": "stage=ready",
    "for sale": "stage=sale",
    "sold, at nine tenths": "stage=sold&after={sold}",
    "size": "size=L",
    "size mini, healing": "stage=healing&size=mini",
    "rack": "rack={rack}",
    "trough and size": "trough={trough}&size=M",
    "system and group": "system=1&group=clam",
    "system, at nine tenths": "system=1&after={deep}",
    "group": "group=SPS",
    "rare group and size": "group=gorgonian&size=mini&stage=growing",
    "variety": "variety={variety}",
    "variety sold": "variety={variety}&stage=sold",
    "genus": "genus={genus}",
    "name": "q=lantern",
    "name, sold, size": "q=lantern&stage=sold&size=L",
    "code's beginning": "q={code:.5}",
    "held": "held=yes",
    "held, of a size": "held=yes&size=S",
    "not held": "held=no&stage=ready",
    "apart": "apart=yes",
    "quarantined": "quarantined=yes",
    "kept back, healing": "kept=yes&stage=healing",
    "problem": "wrong=any",
    "pest in a trough": "wrong=pest&trough={trough}",
    "nothing that fits": "wrong=other&held=yes",
    "nothing that fits, dense": "stage=healing&held=no&apart=no&wrong=no&size=S",
    "age": "age_from=5&age_to=90",
    "age, sold": "stage=sold&age_from=2000&age_to=2030",
    "age, for sale, size": "stage=sale&size=M&age_from=1",
}
CUTTINGS: dict[str, str] = {
    "cuttings": "",
    "cuttings, at nine tenths": "after={cutting}",
    "cuttings of a colony": "variety={variety}",
    "cuttings of a group, under rest": "group=SPS&rest=yes",
    "cuttings of some days": "first=2020-01-01&last=2020-03-01&lot=no",
}
TEXTS: dict[str, str] = {
    "name": "lantern",
    "name and number": "harbour 12",
    "two letters": "ha",
    "one letter": "l",
    "rack": "rack 7",
    "trough": "trough 002",
    "genus": "acropora",
    "customer": "customer 1",
    "end": "{end}",
    "code": "{code}",
    "beginning": "{code:.4}",
    "nothing": "zzzzq",
}


def paths(world: World) -> dict[str, str]:
    """Return what is asked for: lists by what narrows them, and texts that are searched."""
    from fraginv.stock.models import Frag, Rack

    living = Frag.objects.filter(pieces__gte=1).order_by("-pk")
    ready = living.filter(stage="ready").select_related("variety")[3]
    rack = Rack.objects.order_by("pk")[7]
    filled = {
        "deep": living.values_list("pk", flat=True)[world.living * 9 // 10],
        "sold": world.frags // 10,
        "cutting": world.cuttings // 10,
        "rack": rack.code_id,
        "trough": rack.trough_id,
        "variety": ready.variety_id,
        "genus": ready.variety.genus_id,
        "code": ready.code_id,
        "end": ready.code_id[-3:],
    }
    found = {name: f"/frags?{query.format(**filled)}" for name, query in LISTS.items()}
    found |= {name: f"/cuttings?{query.format(**filled)}" for name, query in CUTTINGS.items()}
    for name, text in TEXTS.items():
        asked = text.format(**filled).replace(" ", "+")
        found[f"type: {name}"] = f"/find/answers?q={asked}"
        found[f"find: {name}"] = f"/find?q={asked}"
    return found


def cases(world: World) -> Iterator[tuple[str, Case, int]]:
    """Yield each page with how many statements it asks, as the manager opens it."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from fraginv.base.models import Person

    client = Client(SERVER_NAME="localhost")
    client.force_login(Person.objects.get(), backend="django.contrib.auth.backends.ModelBackend")
    for name, path in paths(world).items():
        with CaptureQueriesContext(connection) as caught:
            status = client.get(path).status_code
        if status not in {200, 302} and not (status == 404 and "/find" in path):
            raise RuntimeError(f"{path} answers {status}")
        yield name, partial(client.get, path), len(caught)


def measure(world: World, *, rounds: int) -> dict[str, tuple[float, int]]:
    """Return the median time of each page in ms, and its statements."""
    found = list(cases(world))
    turns: dict[str, list[float]] = {name: [] for name, _, _ in found}
    for _ in range(rounds):
        for name, work, _ in found:
            turns[name].append(cpu_ms(work))
    return {name: (statistics.median(turns[name]), count) for name, _, count in found}


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


def one_house(options: Any) -> None:
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
                build(world)
                (folder / "built").touch()
            write_logs_nowhere()
            say(json.dumps(measure(world, rounds=options.rounds)))


@contextmanager
def home_kept(folder: Path) -> Iterator[Path]:
    """Set Django up in a folder in which a house on SQLite stays for the next run."""
    folder.mkdir(parents=True, exist_ok=True)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    os.environ["FRAGINV_HOME"] = str(folder)
    django.setup()
    yield folder


def main() -> None:
    """Measure one house where one is asked for, else compare both."""
    parser = argparse.ArgumentParser(prog=f"python -m {MODULE}", add_help=False)
    parser.add_argument("--house", type=int)
    parser.add_argument("--alive", type=int, default=0)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--keep", type=Path, help="a folder in which a house on SQLite stays")
    parser.add_argument("--engine", default="sqlite")
    options, _ = parser.parse_known_args()
    if options.house:
        one_house(options)
    else:
        run(MODULE, rows, rounds=5)


if __name__ == "__main__":
    main()
