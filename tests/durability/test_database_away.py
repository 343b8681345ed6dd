"""The database or the disk gives way in the middle of a page: a plain page, and nothing half."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
from django.db import InterfaceError, OperationalError, close_old_connections, connection
from django.test import Client

from fraginv.base.rules.roles import Role
from fraginv.base.rules.trouble import Troubles, database_trouble
from fraginv.base.views import trouble_of
from fraginv.ledger.models import Entry
from fraginv.stock.models import Frag
from fraginv.trade.models import Sale
from tests.conftest import People
from tests.front.test_sent_again import sell_form
from tests.serving import database_url
from tests.trade.rows import Shop, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("frozen")]
ClientFor = Callable[[Role | None], Client]
Execute = Callable[..., Any]
# The statements of a sale are some fifty; the middle of it lies between these.
MIDDLE_OF_A_SALE = (12, 30, 45)


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def seller(browser_for: ClientFor) -> Client:
    """A seller who sees pages as a browser shows them, whatever broke."""
    return browser_for(Role.SELLER)


def cut_off() -> None:
    """End this connection from outside, as a restart of the server would, or as like as can be."""
    if connection.vendor == "sqlite":
        raise OperationalError("unable to open database file")
    with connection.connection.cursor() as cursor:
        (backend,) = cursor.execute("SELECT pg_backend_pid()").fetchone()
    with psycopg.connect(database_url(), autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", [backend])


@contextmanager
def broken_at(number: int) -> Iterator[None]:
    """Let the connection break before a page's statement of that number."""
    seen = 0

    def watch(execute: Execute, sql: str, *rest: Any) -> Any:
        nonlocal seen
        seen += 1
        if seen == number:
            cut_off()
        return execute(sql, *rest)

    with connection.execute_wrapper(watch):
        yield
    close_old_connections()  # as Django does at the end of every request of a real server
    assert seen >= number, f"The page needed only {seen} statements."


@pytest.mark.parametrize("number", [1, 3])
def test_a_page_says_so_and_works_again(shop: Shop, seller: Client, number: int) -> None:
    with broken_at(number):
        answer = seller.get("/frags")
    assert (answer.status_code, answer["Retry-After"]) == (503, "10")
    text = answer.content.decode()
    assert "The database does not answer" in text
    assert "Try again" in text
    assert "What you sent" not in text
    assert seller.get("/frags").status_code == 200


@pytest.mark.parametrize("number", MIDDLE_OF_A_SALE)
def test_a_sale_is_whole_or_absent_and_sent_again_done_once(
    shop: Shop, seller: Client, number: int
) -> None:
    frag = shop.priced_lot(1)
    form, entries = sell_form(frag.code_id), Entry.objects.count()
    with broken_at(number):
        answer = seller.post("/trade/sell", form)
    assert answer.status_code == 503
    assert "kept whole or not at all" in answer.content.decode()
    assert Sale.objects.count() == 0
    assert (Frag.objects.get(pk=frag.pk).free, Entry.objects.count()) == (1, entries)
    first = seller.post("/trade/sell", form)
    again = seller.post("/trade/sell", form)
    assert (first.status_code, again["Location"]) == (303, first["Location"])
    assert (Sale.objects.count(), Entry.objects.count()) == (1, entries + 2)


@contextmanager
def no_room() -> Iterator[None]:
    """Let SQLite find no further page for its file: its own error for a full disk."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # what earlier tests deleted would be room
        (pages,) = cursor.execute("PRAGMA page_count").fetchone()
        (before,) = cursor.execute("PRAGMA max_page_count").fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages + 2}")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA max_page_count = {before}")


@contextmanager
def read_only() -> Iterator[None]:
    """Let this connection write nothing: the engine's own error for it."""
    turn = "PRAGMA query_only = {}" if connection.vendor == "sqlite" else READ_ONLY
    on, off = ("ON", "OFF")
    with connection.cursor() as cursor:
        cursor.execute(turn.format(on))
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(turn.format(off))


READ_ONLY = "SET default_transaction_read_only = {}"


def test_a_disk_that_cannot_be_written_to(shop: Shop, seller: Client) -> None:
    frag = shop.priced_lot(1)
    form = sell_form(frag.code_id)
    with read_only():
        answer = seller.post("/trade/sell", form)
        assert answer.status_code == 507
        assert "The disk cannot be written to" in answer.content.decode()
        assert seller.get("/frags").status_code == 200, "Reading goes on."
    assert (Sale.objects.count(), Frag.objects.get(pk=frag.pk).free) == (0, 1)
    assert seller.post("/trade/sell", form).status_code == 303


def test_a_full_disk(shop: Shop, seller: Client) -> None:
    """On PostgreSQL the disk is its server's; its code for a full one is known below."""
    if connection.vendor != "sqlite":
        return
    lots = [shop.priced_lot(1) for _ in range(60)]
    forms = [sell_form(lot.code_id) for lot in lots]
    with no_room():
        answers = [seller.post("/trade/sell", form) for form in forms]
        assert seller.get("/frags").status_code == 200, "Reading goes on."
    refused = [n for n, answer in enumerate(answers) if answer.status_code != 303]
    assert refused, "There was room enough for everything."
    assert {answers[n].status_code for n in refused} == {507}
    assert "The disk is full" in answers[refused[0]].content.decode()
    assert Sale.objects.count() == len(lots) - len(refused)
    free = Frag.objects.filter(pk__in=[lots[n].pk for n in refused], free=1).count()
    assert free == len(refused)
    for n in refused:
        assert seller.post("/trade/sell", forms[n]).status_code == 303
    assert Sale.objects.count() == len(lots)


@pytest.mark.parametrize(
    ("message", "sqlstate", "is_sqlite", "found"),
    [
        ("unable to open database file", None, True, Troubles.AWAY),
        ("disk I/O error", None, True, Troubles.AWAY),
        ("database or disk is full", None, True, Troubles.FULL),
        ("attempt to write a readonly database", None, True, Troubles.READ_ONLY),
        ("database is locked", None, True, Troubles.BUSY),
        ("no such table: stock_frag", None, True, None),
        ("connection refused", None, False, Troubles.AWAY),
        ("terminating connection", "57P01", False, Troubles.AWAY),
        ("server closed the connection", "08006", False, Troubles.AWAY),
        ("too many clients already", "53300", False, Troubles.BUSY),
        ("could not extend file", "53100", False, Troubles.FULL),
        ("cannot execute INSERT in a read-only transaction", "25006", False, Troubles.READ_ONLY),
        ("deadlock detected", "40P01", False, Troubles.BUSY),
        ("relation does not exist", "42P01", False, None),
    ],
)
def test_what_the_engines_say(
    message: str, sqlstate: str | None, is_sqlite: bool, found: Troubles | None
) -> None:
    expected = None if found is None else found.value
    assert database_trouble(message, sqlstate=sqlstate, is_sqlite=is_sqlite) == expected


def test_a_disk_and_faults_of_ours_are_told_apart() -> None:
    assert trouble_of(OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))) == Troubles.FULL.value
    assert trouble_of(OSError(errno.EROFS, os.strerror(errno.EROFS))) == Troubles.READ_ONLY.value
    assert trouble_of(OSError(errno.ENOENT, os.strerror(errno.ENOENT))) is None
    assert trouble_of(KeyError("frag")) is None
    gone = InterfaceError("connection already closed")
    expected = None if connection.vendor == "sqlite" else Troubles.AWAY.value
    assert trouble_of(gone) == expected


def test_a_fault_of_ours_stays_one(shop: Shop, seller: Client, broken_list: None) -> None:
    answer = seller.get("/frags")
    assert answer.status_code == 500
    assert "Something broke on our side" in answer.content.decode()
    assert "Ida Byrne" not in answer.content.decode()
