"""The sale of one piece for cash against what the disk and the database need for it.

Two floors: a raw transaction of two statements, committed to the disk; and, on
SQLite, the sale's own statements sent again as they are, with nothing that thinks.
"""

import sqlite3
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

SALES = 12


def selling(home: Path, *, rounds: int) -> dict[str, float]:
    """Return medians in ms: wall and CPU of a sale, wall of a bare commit; and its statements."""
    sell, bare = seller(), bare_commit(home)
    sell()
    statements = len(sent_by(sell))
    walls: list[float] = []
    cpus: list[float] = []
    floors: list[float] = []
    for _ in range(rounds * SALES):
        floors.append(timed(bare, time.perf_counter))
        start = time.process_time()
        walls.append(timed(sell, time.perf_counter))
        cpus.append((time.process_time() - start) * 1000)
    alone = statements_alone(sell)
    return alone | {
        "sale, wall": statistics.median(walls),
        "sale, CPU": statistics.median(cpus),
        "sale, floor": statistics.median(floors),
        "sale, statements": statements,
    }


def timed(work: Callable[[], object], clock: Callable[[], float]) -> float:
    """Return how long a run took, in ms."""
    start = clock()
    work()
    return (clock() - start) * 1000


def seller() -> Callable[[], object]:
    """Return what sells the next ready piece for cash, as a page does it."""
    from fraginv.base.models import Person
    from fraginv.base.queries.organisation import organisation_kept
    from fraginv.stock.models import Frag
    from fraginv.trade.actions.selling import post_sale
    from fraginv.trade.queries.prices import get_kind, prices_for
    from fraginv.trade.rules.asked import SaleItem, Tender
    from fraginv.trade.rules.words import Means
    from tests.bench.world import TODAY

    by, prices = Person.objects.get(), prices_for(get_kind(), day=TODAY)
    ready = Frag.objects.filter(stage="ready", pieces__gte=1).select_related("variety", "colony")
    frags = list(ready.order_by("-pk")[:200])

    def sell() -> None:
        frag = frags.pop()
        price = prices.choose(frag).amount
        with organisation_kept():
            tender = Tender(Means.CASH, price + price // 16)
            post_sale([SaleItem(frag.pk, 1)], by=by, payment=tender)

    return sell


def bare_commit(home: Path) -> Callable[[], object]:
    """Return what changes a row, adds one, and waits for the disk."""
    raw = sqlite3.connect(home / "floor.sqlite3", isolation_level=None)
    for sql in (
        "PRAGMA journal_mode=WAL",
        "PRAGMA synchronous=FULL",
        "CREATE TABLE IF NOT EXISTS paper (number INTEGER PRIMARY KEY, total INTEGER)",
        "INSERT OR IGNORE INTO paper VALUES (1, 1)",
    ):
        raw.execute(sql)

    def commit() -> None:
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("UPDATE paper SET total = total + 1 WHERE number = 1")
        raw.execute("INSERT INTO paper (total) VALUES (2)")
        raw.execute("COMMIT")

    return commit


@contextmanager
def listening() -> Iterator[list[tuple[str, Any]]]:
    """Gather what is sent to the database."""
    from django.db import connection

    sent: list[tuple[str, Any]] = []

    def listen(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        sent.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(listen):
        yield sent


def sent_by(work: Callable[[], object]) -> list[tuple[str, Any]]:
    """Return the statements of one run."""
    with listening() as sent:
        work()
    return sent


def statements_alone(sell: Callable[[], object]) -> dict[str, float]:
    """Return the median CPU time of a sale's statements, sent again where it was taken back.

    Only on SQLite: PostgreSQL does not take numbers of rows back, so others would be meant.
    """
    from django.db import connection, transaction

    if connection.vendor == "postgresql":
        return {}
    with transaction.atomic():
        sent = sent_by(sell)
        transaction.set_rollback(True)
    spent = []
    for _ in range(SALES):
        with transaction.atomic(), connection.cursor() as cursor:
            start = time.process_time()
            for sql, params in sent:
                cursor.execute(sql, params)
            spent.append((time.process_time() - start) * 1000)
            transaction.set_rollback(True)
    return {"sale, statements alone": statistics.median(spent)}
