"""What is measured inside one big house; ``tests.bench.data`` asks for it and compares.

``python -m tests.bench.inside --frags N`` prints one JSON document: the median
milliseconds of each case, product and floor taking turns where there is a floor.
"""

import argparse
import json
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from tests.bench.building import house
from tests.bench.measuring import say
from tests.bench.world import World

Case = Callable[[], object]
MONTH, OLD_MONTH = 202610, 201805
FIRST_MONTH, LAST_MONTH = 201612, 202611
SHORT_MS, TIMES = 20, 10


def pages(world: World) -> dict[str, str]:
    """Return the pages that are opened, each as full in a small house as in a big one."""
    from fraginv.base.models import Person
    from fraginv.front.queries.find import find
    from fraginv.stock.models import Frag, Rack
    from fraginv.trade.models import Sale

    ready = Frag.objects.filter(stage="ready", pieces__gte=1).order_by("-pk")[5:99]
    reader = Person.objects.get()
    living = next(frag for frag in ready if find(frag.code_id[-3:], reader=reader).path)
    sold = Frag.objects.filter(stage="sold", pk__gte=world.frags // 2).order_by("pk")[0]
    deep = Sale.objects.get(pk=world.sales // 10)
    journal = f"/ledger/?month=2018-05&after={entry_of(201805)}"
    return {
        "today": "/",
        "frags": "/frags",
        "frags sold": "/frags?stage=sold",
        "frags sold, at nine tenths": f"/frags?stage=sold&after={world.frags // 10}",
        "frags for sale": "/frags?stage=sale",
        "frags of a name": "/frags?stage=sold&q=lantern",
        "frags of no name": "/frags?q=zzzz",
        "colonies": "/colonies",
        "find a name": "/find?q=lantern",
        "find nothing": "/find?q=zzzzq",
        "find an end": f"/find?q={living.code_id[-3:]}",
        "scan, living": f"/T/{living.code_id}",
        "scan, sold": f"/T/{sold.code_id}",
        "rack": f"/T/{Rack.objects.order_by('pk')[2].code_id}",
        "sales": "/trade/sales",
        "sales, at nine tenths": f"/trade/sales?day={deep.day}&sale={deep.pk}",
        "customers": "/trade/customers",
        "customers, at nine tenths": f"/trade/customers?after={world.customers * 9 // 10}",
        "journal": "/ledger/",
        "journal, second page": journal,
        "month": "/reports/2026-10",
        "month, long ago": "/reports/2018-05",
    }


def entry_of(month: int) -> int:
    """Return the id of the tenth entry of a month."""
    from fraginv.ledger.models import Entry

    return Entry.objects.filter(month=month).order_by("position")[9].pk


def page_cases(world: World) -> Iterator[tuple[str, Case]]:
    """Yield the pages, opened by the manager through everything that stands around them."""
    from django.test import Client

    from fraginv.base.models import Person

    client = Client(SERVER_NAME="localhost")
    client.force_login(Person.objects.get(), backend="django.contrib.auth.backends.ModelBackend")
    for name, path in pages(world).items():
        status = client.get(path).status_code
        if status not in {200, 302, 404} or (status == 404 and "nothing" not in name):
            raise RuntimeError(f"{path} answers {status}")
        yield f"page: {name}", partial(client.get, path)


def query_cases(world: World) -> Iterator[tuple[str, Case]]:
    """Yield queries alone, and raw ones as their floors."""
    from django.db import connection

    from fraginv.reports.queries.months import month_figures
    from fraginv.stock.models import Frag
    from fraginv.stock.queries.frags import frag_by_code
    from fraginv.stock.queries.varieties import varieties_like
    from fraginv.trade.queries.months import income_of_months, sales_of_month

    def raw(sql: str, *values: int | str) -> list[tuple[object, ...]]:
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            return list(cursor.fetchall())

    code = Frag.objects.get(pk=world.frags // 3).code_id
    one = "SELECT sum(net) FROM trade_saleline WHERE month = %s"
    parts = (
        'SELECT channel, "group", sum(gross), sum(discount), sum(net), sum(tax), sum(quantity) '
        'FROM trade_saleline WHERE month = %s GROUP BY channel, "group"'
    )
    all_ = "SELECT month, sum(net) FROM trade_saleline GROUP BY month"
    yield "look-up by code", lambda: frag_by_code(code)
    found = varieties_like("lantern")[:40]
    statement, values = found.query.sql_with_params()
    yield "search of varieties", lambda: list(found.all())
    yield "search of varieties, statement alone", lambda: raw(statement, *values)
    yield "search of varieties, in vain", lambda: list(varieties_like("zzzz")[:40])
    yield "one month, sales", lambda: sales_of_month(MONTH)
    yield "one month, all figures", lambda: month_figures(MONTH)
    yield "one month, floor", lambda: raw(one, MONTH)
    yield "one month in its parts, floor", lambda: raw(parts, MONTH)
    yield "ten years", lambda: income_of_months(FIRST_MONTH, last=LAST_MONTH)
    yield "ten years, floor", lambda: raw(all_)


def measured(cases: list[tuple[str, Case]], *, rounds: int) -> dict[str, float]:
    """Let all cases take turns; return the median of each one's time in ms."""
    turns: dict[str, list[float]] = {name: [] for name, _ in cases}
    for _ in range(rounds):
        for name, work in cases:
            turns[name].append(each(work))
    return {name: statistics.median(found) for name, found in turns.items()}


def each(work: Case) -> float:
    """Return the time of one run in ms; a short one is run ten times.

    It is the process's CPU time on SQLite. PostgreSQL works in a process of its own, so
    there it is the time that passes.
    """
    from django.db import connection

    clock = time.perf_counter if connection.vendor == "postgresql" else time.process_time
    start = clock()
    work()
    spent = (clock() - start) * 1000
    if spent > SHORT_MS:
        return spent
    start = clock()
    for _ in range(TIMES):
        work()
    return (clock() - start) * 1000 / TIMES


@contextmanager
def asked() -> Iterator[argparse.Namespace]:
    """Read what was asked for, and be in the house."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.inside")
    parser.add_argument("--frags", type=int, required=True)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--engine", choices=["sqlite", "postgresql"], default="sqlite")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--verify", action="store_true", help="only run verify, once")
    options = parser.parse_args()
    world = World(options.frags, told=options.verify)
    with house(world, engine=options.engine, keep=options.keep) as home:
        options.world, options.home = world, home
        yield options


def verify_ms() -> float:
    """Return the CPU time of ``verify`` in ms.

    Raises: RuntimeError where the house does not agree with itself.
    """
    from fraginv.front.queries.differences import differences

    start = time.process_time()
    found = list(differences())
    if found:
        raise RuntimeError(f"{len(found)} differences, the first: {found[0]}")
    return (time.process_time() - start) * 1000


def main() -> None:
    """Measure and print."""
    from tests.bench.selling import selling

    with asked() as options:
        if options.verify:
            say(json.dumps({"verify": verify_ms()}))
            return
        cases = [*query_cases(options.world), *page_cases(options.world)]
        found = measured(cases, rounds=options.rounds)
        say(json.dumps(found | selling(options.home, rounds=options.rounds)))


if __name__ == "__main__":
    main()
