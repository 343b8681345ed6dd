"""All processes are killed in the middle of sales: each is there whole and once, or not at all."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from fraginv.trade.models import Sale
from tests.conftest import People
from tests.durability.groups import Group
from tests.durability.whole import Wanted, engine_says, faults_of, faults_of_all
from tests.trade.rows import Shop, open_shop

ROUNDS = 10
PAID, UNPAID = "paid", "unpaid"
PIECES = 3


@pytest.mark.xdist_group("kills")
def test_ten_kills() -> None:
    """Two hundred are ``python -m tests.durability.kills --rounds 200``, with either engine."""
    command = [sys.executable, "-m", "tests.durability.kills", "--rounds", str(ROUNDS), "--quiet"]
    done = subprocess.run(
        [*command, "--engine", connection.vendor],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    found = json.loads(done.stdout)
    assert (found["rounds"], found["faults"]) == (ROUNDS, [])
    assert found["answered"] >= ROUNDS
    assert found["unanswered_whole"] + found["unanswered_absent"] >= ROUNDS
    assert found["killed_starting"] == ROUNDS // 10
    assert (found["server_killed"] > 0) == (connection.vendor == "postgresql")


def test_a_group_goes_with_its_children(tmp_path: Path) -> None:
    deaf = "trap '' TERM HUP INT; sleep 60 & sleep 60 & wait"
    group = Group(["sh", "-c", deaf], environment=os.environ, log=tmp_path / "log")
    while len(group.members()) < 3:
        assert group.process.poll() is None
    group.kill()
    assert group.members() == []
    assert group.process.returncode == -signal.SIGKILL


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def sold(shop: Shop, *, is_paid: bool) -> tuple[Sale, Wanted]:
    """Sell three pieces at 16.00, which come to 51.00 with 6.25 % of tax."""
    lot = shop.priced_lot(30, price=1600)
    sale = shop.sell(lot, PIECES, paid=5100 if is_paid else 0)
    return sale, Wanted({lot.code_id: PIECES}, 5100, is_paid)


def break_rows(statement: str) -> None:
    """Change rows behind the project's back, as no transaction that is whole can leave them."""
    with connection.cursor() as cursor:
        cursor.execute(statement)


@pytest.mark.parametrize("is_paid", [True, False])
def test_a_whole_sale_has_no_fault(shop: Shop, is_paid: bool) -> None:
    sale, wanted = sold(shop, is_paid=is_paid)
    assert list(faults_of(sale, wanted)) == []
    other = Wanted(wanted.pieces, 5100, not is_paid)
    assert len(list(faults_of(sale, other))) == 3, "payment, balance and takings"


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        ("UPDATE trade_balance SET owed = 1", "[1] is owed"),
        ("UPDATE trade_taking SET amount = amount - 1", "brought 4799"),
        ("UPDATE stock_claim SET pieces = 2", "has the claim sale 2"),
        ("UPDATE stock_fragevent SET kind = 'lost' WHERE kind = 'sold'", "has no event"),
        ("UPDATE ledger_entry SET paper = 'S-1' WHERE source = 'sale'", "has 0 entries"),
        ("UPDATE ledger_line SET amount = amount + 1 WHERE id = 1", "its entry has lines of"),
        ("UPDATE trade_saleline SET claim_id = NULL, frag_id = NULL", "has no claim"),
    ],
)
def test_a_sale_that_is_not_whole_has(shop: Shop, statement: str, fault: str) -> None:
    sale, wanted = sold(shop, is_paid=True)
    break_rows(statement.replace("WHERE id = 1", "WHERE id = (SELECT MIN(id) FROM ledger_line)"))
    assert any(fault in found for found in faults_of(sale, wanted))


def test_all_together_add_up(shop: Shop) -> None:
    two = [sold(shop, is_paid=paid)[1] for paid in (True, False)]
    began = {code: 30 for one in two for code in one.pieces}
    # These were sold without a form, so that nothing was sent under a key.
    expected = ["There are 0 rows of ReplayKey, not 2"]
    assert list(faults_of_all(two, began)) == expected
    break_rows("UPDATE base_numberseries SET last = last + 1 WHERE series = 'S'")
    break_rows("UPDATE ledger_chainhead SET position = position + 1")
    code = next(iter(began))
    break_rows(f"UPDATE stock_frag SET free = free - 1 WHERE code_id = '{code}'")
    found = "\n".join(faults_of_all(two, began))
    for fault in ("2 numbers up to 3", "3 numbers up to 4", f"{code}: 27 pieces are there and 26"):
        assert fault in found
    lost = "\n".join(faults_of_all(two[:1], began))
    assert "There are 2 rows of Sale, not 1" in lost
    assert "There are 1 rows of Payment" not in lost


def test_an_engine_is_asked_itself(db: None) -> None:
    """The server of the tests may lose what it kept, and SQLite's file is sound."""
    loose = ["fsync", "synchronous_commit", "full_page_writes"]
    found = [] if connection.vendor == "sqlite" else [f"{name} is off" for name in loose]
    assert list(engine_says()) == found
