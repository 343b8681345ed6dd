"""A write that the database let pass at the second try is told of once."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.db import OperationalError, connection
from django.test import Client

from fraginv.base.rules.roles import Role
from fraginv.trade.models import Customer
from tests.conftest import People
from tests.trade.rows import open_shop

ClientFor = Callable[[Role | None], Client]


class LockedOnce:
    """Let the first statement that keeps an answer fail, as a busy database does."""

    def __init__(self) -> None:
        self.tries = 0

    def __call__(
        self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
    ) -> Any:
        if sql.startswith('UPDATE "base_replaykey"'):
            self.tries += 1
            if self.tries == 1:
                raise OperationalError("database is locked")
        return execute(sql, params, many, context)


@pytest.mark.django_db(transaction=True)
def test_a_write_tried_twice_is_told_of_once(people: People, client_for: ClientFor) -> None:
    shop = open_shop(people)
    seller, busy = client_for(Role.SELLER), LockedOnce()
    sent = {"name": "Saltmarsh Corals", "kind": shop.shop.pk, "replay_key": uuid4()}
    with connection.execute_wrapper(busy):
        done = seller.post("/trade/customers/add", sent)
    assert done.status_code == 303, done.content.decode()
    assert busy.tries == 2
    assert Customer.objects.count() == 1
    told = [str(message) for message in get_messages(done.wsgi_request)]
    assert told == ["Saltmarsh Corals is written down."]
