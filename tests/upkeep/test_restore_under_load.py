"""A backup taken while people sell, hold and cut, restored onto both engines, table by table."""

import random
import sqlite3
import threading
import time
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection, connections

from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo
from fraginv.stock.actions.aside import set_apart
from fraginv.stock.models import Colony, Frag
from fraginv.trade.actions.customers import add_customer
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.models import Sale
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.words import Basis
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.empty import PG_PROGRAMS, database_on, empty_home
from tests.factories import make_colony, make_lot
from tests.front.running import Line
from tests.serving import Caller, database_url, serving
from tests.upkeep.archives import contents_of, manifest_of
from tests.upkeep.tables import Kinds, Tables, differing, kinds_on, play, tables_in, tables_on

CLIENTS = 4
PRICE = 1000
BEFORE, DURING = 8, 4
SECONDS = 60
ODD = "tab\t, line\n, return\r, back\\slash, \\N, \\., quote ' \", é, 🐠"


@dataclass
class Crowd:
    """Clients who do one thing after the other until they are told to stop."""

    port: int
    people: People
    lot: Frag
    colony: Colony
    day: str
    sold: list[str] = field(default_factory=list)
    done: threading.Event = field(default_factory=threading.Event)
    strange: list[str] = field(default_factory=list)

    def client(self, number: int) -> None:
        """Sell, hold and cut in turns that chance decides."""
        chance = random.Random(number)
        seller = Caller(self.people[Role.SELLER], port=self.port)
        grower = Caller(self.people[Role.GROWER], port=self.port)
        connections.close_all()
        while not self.done.is_set():
            self.one_turn(chance, seller, grower, name=f"Client {number}")

    def one_turn(self, chance: random.Random, seller: Caller, grower: Caller, *, name: str) -> None:
        code, turn = self.lot.code_id, chance.random()
        if turn < 0.6:
            fields = {"step": "sell", "channel": "counter", "name": name, "means": "cash"}
            answer = seller.post("/trade/sell", {**fields, "codes": [code], "seen": PRICE})
            if answer.status == 303:
                self.sold.append(answer.location)
        elif turn < 0.85:
            held = {"pieces": 1, "name": f"{name} waits", "kind": "walk"}
            answer = seller.post(f"/trade/hold/{code}", held)
        else:
            cut = {"pieces": 2, "lost": 0, "medium": "plug", "lot": "no", "day": self.day}
            answer = grower.post(f"/stock/colonies/{self.colony.code_id}/cut", cut)
        if answer.status not in {303, 409}:
            self.strange.append(answer.text[:1000])


@pytest.fixture
def house(transactional_db: None, people: People) -> tuple[Frag, Colony]:
    """A lot to sell from, a colony to cut, a photo, and words and values of every odd kind."""
    manager = people[Role.MANAGER]
    colony = make_colony(manager, note=ODD)
    lot = make_lot(manager, 500, colony=colony, ready=True)
    set_price(PRICE, kind=get_kind(), variety=colony.variety, by=manager)
    set_tax_rate(Decimal(0), basis=Basis.INVOICE, by=manager)
    file_photo(lot, data=make_picture(), by=manager, caption=ODD)
    set_apart([make_lot(manager, 2, colony=colony).pk], by=manager, reason=ODD)
    add_customer(f"Saltmarsh {ODD}"[:60], kind=get_kind("shop"), by=manager, address=ODD)
    return lot, colony


def until(crowd: Crowd, sales: int) -> None:
    """Wait until that many sales were answered."""
    end = time.monotonic() + SECONDS
    while len(crowd.sold) < sales:
        assert time.monotonic() < end, crowd.strange
        assert not crowd.strange, crowd.strange[0]
        time.sleep(0.02)


def backed_up_under_load(crowd: Crowd, file: Path) -> list[str]:
    """Make a backup as a process while the crowd works; return the sales answered before it."""
    line = Line(
        Path(settings.FRAGINV_HOME),
        {"DATABASE_URL": database_url(), "FRAGINV_PG_PROGRAMS": str(PG_PROGRAMS)},
    )
    threads = [threading.Thread(target=crowd.client, args=(n,)) for n in range(CLIENTS)]
    for thread in threads:
        thread.start()
    try:
        until(crowd, BEFORE)
        before = list(crowd.sold)
        assert line.told("backup", file)["problems"] == []
        until(crowd, len(before) + DURING)
    finally:
        crowd.done.set()
        for thread in threads:
            thread.join()
    assert not crowd.strange, crowd.strange[0]
    return before


def restore(file: Path, line: Line) -> None:
    """Restore into an empty home; key and photos are those of the backup."""
    said = line.told("restore", file)
    assert said["differences"] == said["left_out"] == said["problems"] == []
    held = contents_of(file)
    assert (line.home / "signing.key").read_bytes() == held["signing.key"]
    assert (line.home / "signing.key").stat().st_mode & 0o777 == 0o600
    photos = {name: data for name, data in held.items() if name.startswith("media/")}
    assert len(photos) == 5  # the original and its renditions
    for name, data in photos.items():
        assert (line.home / name).read_bytes() == data


def original(file: Path, *, server: str, kinds: Kinds) -> Tables:
    """Return the tables of the database in a backup, opened by other means."""
    held = contents_of(file)
    if connection.vendor == "sqlite":
        lite = file.with_name("taken out.sqlite3")
        lite.write_bytes(held["database.sqlite3"])
        return tables_in(lite, kinds=kinds)
    dump = file.with_name("taken out.sql")
    dump.write_bytes(held["database.sql"])
    with database_on(server) as url:
        play(dump, url)
        return tables_on(url)


HALF = {
    "no lines": "NOT EXISTS (SELECT 1 FROM trade_saleline l WHERE l.sale_id = s.id)",
    "lines of another sum": (
        "s.net <> (SELECT sum(l.net) FROM trade_saleline l WHERE l.sale_id = s.id)"
    ),
    "no balance": "NOT EXISTS (SELECT 1 FROM trade_balance b WHERE b.sale_id = s.id)",
    "not paid whole": (
        "s.total <> (SELECT sum(p.amount) FROM trade_payment p WHERE p.sale_id = s.id)"
    ),
    "no claim on what was sold": (
        "EXISTS (SELECT 1 FROM trade_saleline l WHERE l.sale_id = s.id AND NOT EXISTS "
        "(SELECT 1 FROM stock_claim c WHERE c.id = l.claim_id AND c.kind = 'sale'))"
    ),
    "no entry": (
        "NOT EXISTS (SELECT 1 FROM ledger_entry e WHERE e.paper = "
        "printf('%s-%d-%04d', s.series, s.year, s.number))"
    ),
}


def assert_sales_are_whole(file: Path, *, before: list[str], after: int) -> None:
    """Every sale that was answered before the backup began is in it, and none is half."""
    with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as session:
        there = {number for (number,) in session.execute("SELECT id FROM trade_sale")}
        half = {
            what: session.execute(f"SELECT s.id FROM trade_sale s WHERE {where}").fetchall()
            for what, where in HALF.items()
        }
        unbalanced = session.execute(
            "SELECT entry_id FROM ledger_line GROUP BY entry_id HAVING sum(amount) <> 0"
        ).fetchall()
    assert {int(place.rpartition("/")[2]) for place in before} <= there
    assert len(there) < after
    assert half == dict.fromkeys(HALF, [])
    assert unbalanced == []


@pytest.mark.xdist_group("restore under load")
def test_a_backup_under_load_comes_back_on_both_engines(
    house: tuple[Frag, Colony], people: People, any_server: str, tmp_path: Path
) -> None:
    file = tmp_path / "reef.zip"
    with serving(workers=2) as port:
        crowd = Crowd(port, people, *house, day=today().isoformat())
        before = backed_up_under_load(crowd, file)
    with ExitStack() as stack:
        lite = stack.enter_context(empty_home(tmp_path / "lite"))
        post = stack.enter_context(empty_home(tmp_path / "post", server=any_server))
        for line in (lite, post):
            restore(file, line)
        url = post.environment["DATABASE_URL"]
        kinds = kinds_on(url)
        there = original(file, server=any_server, kinds=kinds)
        assert {table: len(rows) for table, rows in there.items()} == manifest_of(file)["rows"]
        in_lite = tables_in(lite.home / "fraginv.sqlite3", kinds=kinds)
        assert differing(there, in_lite) == []
        assert differing(there, tables_on(url)) == []
    lite_file = lite.home / "fraginv.sqlite3"
    assert_sales_are_whole(lite_file, before=before, after=Sale.objects.count())
    with closing(sqlite3.connect(lite_file)) as session, session:
        session.execute(
            "DELETE FROM trade_balance WHERE sale_id = (SELECT min(id) FROM trade_sale)"
        )
    assert differing(there, tables_in(lite_file, kinds=kinds)) != []
    with pytest.raises(AssertionError, match="no balance"):
        assert_sales_are_whole(lite_file, before=before, after=Sale.objects.count())
