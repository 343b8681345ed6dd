"""A session cannot be saved once its page was made: what is said of the page stays true."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.contrib.sessions.backends.base import CreateError
from django.contrib.sessions.models import Session
from django.db import close_old_connections, connection, transaction
from django.db.models.signals import post_save
from django.test import Client

from fraginv.base.rules.roles import Role
from fraginv.base.sessions import SessionStore
from fraginv.trade.models import Sale
from tests.conftest import People
from tests.durability.test_database_away import cut_off
from tests.front.test_sent_again import sell_form
from tests.trade.rows import Shop, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("frozen")]
ClientFor = Callable[[Role | None], Client]
Execute = Callable[..., Any]


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def seller(browser_for: ClientFor) -> Client:
    """A seller whose visit has begun, so that a sale's own message is all that is saved."""
    client = browser_for(Role.SELLER)
    assert client.get("/trade/sell").status_code == 200
    return client


@contextmanager
def cut_off_before_saving() -> Iterator[list[str]]:
    """Break the connection where a session is saved; yield the statement that was to do it."""
    seen: list[str] = []

    def watch(execute: Execute, sql: str, *rest: Any) -> Any:
        if not seen and sql.startswith('UPDATE "django_session"'):
            seen.append(sql)
            cut_off()
        return execute(sql, *rest)

    with connection.execute_wrapper(watch):
        yield seen


@contextmanager
def visits_end_after_a_sale() -> Iterator[None]:
    """End all visits as soon as a sale is there for good."""

    def end(**sent: Any) -> None:
        transaction.on_commit(lambda: Session.objects.all().delete())

    post_save.connect(end, sender=Sale)
    try:
        yield
    finally:
        post_save.disconnect(end, sender=Sale)


def test_a_database_that_goes_after_a_sale_is_not_called_nothing_written(
    shop: Shop, seller: Client
) -> None:
    form = sell_form(shop.priced_lot(1).code_id)
    with cut_off_before_saving() as seen:
        answer = seller.post("/trade/sell", form)
    close_old_connections()  # as Django does at the end of every request of a real server
    assert seen
    text = answer.content.decode()
    assert (answer.status_code, answer["Retry-After"]) == (503, "10")
    assert "kept whole or not at all" in text
    assert "Nothing was written" not in text
    sale = Sale.objects.get()
    again = seller.post("/trade/sell", form)
    assert (again.status_code, again["Location"]) == (303, f"/trade/sales/{sale.pk}")
    assert Sale.objects.count() == 1


def test_a_visit_that_is_ended_during_a_sale_ends_after_it(shop: Shop, seller: Client) -> None:
    form = sell_form(shop.priced_lot(1).code_id)
    with visits_end_after_a_sale():
        answer = seller.post("/trade/sell", form)
    assert answer.status_code == 303
    assert answer["Location"] == f"/trade/sales/{Sale.objects.get().pk}"
    assert Session.objects.count() == 0, "It stays ended."
    assert seller.get("/trade/sell").status_code == 302


def test_a_new_session_under_a_key_that_is_taken_is_refused(db: None) -> None:
    """What must be made anew never takes another's place."""
    first = SessionStore()
    first.create()
    second = SessionStore(first.session_key)
    second["name"] = "other"
    with pytest.raises(CreateError):
        second.save(must_create=True)
    assert "name" not in SessionStore(first.session_key)
