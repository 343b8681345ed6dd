"""A customer's page says what died while it was put aside."""

from collections.abc import Callable
from datetime import timedelta

from django.test import Client

from fraginv.base import clock
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.queries.customers import Died, died_for
from tests.conftest import People
from tests.reading import words_on
from tests.trade.rows import open_shop

ClientFor = Callable[[Role | None], Client]


def test_the_holders_list_says_what_died(client_for: ClientFor, people: People) -> None:
    shop = open_shop(people)
    customer, other = (shop.customer(name, kind=shop.retail) for name in ("Saltmarsh", "Ebb"))
    small, whole = shop.priced_lot(5), shop.priced_lot(2)
    for lot, pieces in ((small, 4), (whole, 2)):
        hold_for_customer(
            lot.pk, pieces=pieces, by=shop.seller, kind=ClaimKind.NAMED, customer=customer
        )
    hold_for_customer(small.pk, pieces=1, by=shop.seller, kind=ClaimKind.NAMED, customer=other)
    record_loss(whole.pk, pieces=2, cause="rtn", by=shop.manager)
    assert died_for(other) == []
    record_loss(small.pk, pieces=3, cause="rtn", by=shop.manager)
    assert [(one.code, one.pieces) for one in died_for(customer)] == [
        (small.code_id, 2),
        (whole.code_id, 2),
    ]
    assert [one.pieces for one in died_for(other)] == [1]
    page = words_on(client_for(Role.SELLER).get(f"/trade/customers/{customer.pk}"))
    assert f"2 pieces of {small.variety.name} {show_code(small.code_id)}" in page
    assert "Tell them, and put others aside" in page
    with clock.at(clock.now() + timedelta(days=31)):
        assert died_for(customer) == list[Died]()
