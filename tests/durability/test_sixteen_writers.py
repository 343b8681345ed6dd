"""Sixteen sellers at one lot while a long table is loaded and the month is read: nobody is told
that the database was busy, and every piece is sold once.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier, Event

import pytest
from django.conf import settings

from fraginv.base.rules.roles import Role
from fraginv.front.queries.differences import differences
from fraginv.stock.models import Frag
from fraginv.trade.models import Sale
from tests.conftest import People
from tests.serving import Answered, Caller, database_url, serving
from tests.trade.rows import Shop, open_shop

WRITERS = 16
EACH = 8
PROCESSES, THREADS = 4, 4
ROWS = 2_500
HEAD = (
    "day,customer,kind,channel,variety,code,quantity,unit_price,discount,tax_rate,tax,paid,means\n"
)
ROW = "2025-{month:02d}-{day:02d},,retail,counter,{variety},,1,12.00,,,,12.00,cash\n"


@pytest.fixture
def shop(transactional_db: None, people: People) -> Shop:
    return open_shop(people, rate="0")


@pytest.fixture
def port(shop: Shop) -> Iterator[int]:
    with serving(workers=PROCESSES, threads=THREADS) as port:
        yield port


def write_table(file: Path, *, variety: str) -> Path:
    """Write down sales of the year before, each a paper of its own: their days alternate."""
    rows = [ROW.format(month=1 + n % 12, day=1 + n % 28, variety=variety) for n in range(ROWS)]
    file.write_text(HEAD + "".join(rows), encoding="utf-8")
    return file


def sell_all(caller: Caller, code: str, barrier: Barrier) -> list[Answered]:
    """Sell one piece after the other, and once more when none is left."""
    form = {"channel": "counter", "means": "cash", "codes": code, "seen": 1000, "step": "sell"}
    barrier.wait()
    return [caller.post("/trade/sell", form) for _ in range(EACH + 1)]


def read_on(caller: Caller, stop: Event) -> list[Answered]:
    """Read the month again and again until told to stop."""
    pages = [caller.get("/reports/2026-11")]
    while not stop.is_set():
        pages.append(caller.get("/reports/2026-11"))
    return pages


def load(table: Path) -> subprocess.CompletedProcess[str]:
    """Bring the table in by the command, in one transaction that holds the write lock."""
    return subprocess.run(
        [sys.executable, "manage.py", "load", "sales", str(table), "--json"],
        cwd=settings.BASE_DIR,
        env=os.environ
        | {"FRAGINV_HOME": str(settings.FRAGINV_HOME), "DATABASE_URL": database_url()},
        capture_output=True,
        text=True,
        check=False,
    )


def test_nobody_meets_a_busy_database(
    shop: Shop, people: People, port: int, tmp_path: Path
) -> None:
    lot = shop.priced_lot(WRITERS * EACH)
    table = write_table(tmp_path / "sales.csv", variety=lot.variety.name)
    reader = Caller(people[Role.READER], port=port)
    callers = [Caller(shop.seller, port=port) for _ in range(WRITERS)]
    barrier, stop = Barrier(WRITERS), Event()
    with ThreadPoolExecutor(WRITERS + 2) as pool:
        reading = pool.submit(read_on, reader, stop)
        loading = pool.submit(load, table)
        selling = [pool.submit(sell_all, caller, lot.code_id, barrier) for caller in callers]
        answers = [answer for one in selling for answer in one.result()]
        loaded = loading.result()
        stop.set()
        pages = reading.result()
    assert loaded.returncode == 0, loaded.stderr
    assert {page.status for page in pages} == {200}
    sold = [answer for answer in answers if answer.status == 303]
    refused = [answer for answer in answers if answer.status != 303]
    assert {answer.status for answer in refused} <= {400, 409}, refused[0].text[:2000]
    assert not [answer.text for answer in refused if "database" in answer.text]
    assert len(sold) == len({answer.location for answer in sold}) == WRITERS * EACH
    assert_counts(lot)


def assert_counts(lot: Frag) -> None:
    """Every piece was sold once, every number follows the one before it."""
    lot.refresh_from_db()
    assert (lot.pieces, lot.free) == (0, 0)
    for imported, count in ((False, WRITERS * EACH), (True, ROWS)):
        numbers = Sale.objects.filter(imported=imported).order_by("year", "number")
        assert numbers.count() == count
    numbers_2026 = list(
        Sale.objects.filter(imported=False).order_by("number").values_list("number", flat=True)
    )
    assert numbers_2026 == list(range(1, WRITERS * EACH + 1))
    assert list(differences()) == []
