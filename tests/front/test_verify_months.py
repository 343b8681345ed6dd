"""``verify`` compares each month's papers with the ledger's entries."""

from collections.abc import Callable

import pytest
from django.db import connection

from fraginv.front.queries.differences import differences
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.models import Sale
from fraginv.trade.rules.words import Means
from tests.conftest import People
from tests.trade.rows import open_shop

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def sale(people: People) -> Sale:
    """A sale of 3000 and 188 tax, 1000 of it paid, all of it credited in the end."""
    shop = open_shop(people)
    sale = shop.sell(shop.priced_lot(20), 3, paid=1000)
    credit_sale(sale.pk, by=shop.seller, alive=True, refund_means=Means.CASH)
    return sale


def change(*statements: str) -> None:
    """Change rows behind the house's back."""
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
            assert cursor.rowcount >= 1


def move_sale() -> None:
    change(
        "UPDATE trade_sale SET day = '2026-10-25', month = 202610",
        "UPDATE trade_saleline SET month = 202610",
    )


def move_payment() -> None:
    change(
        "UPDATE trade_payment SET day = '2026-10-25', month = 202610",
        "UPDATE trade_taking SET month = 202610 WHERE payment_id IS NOT NULL",
    )


def move_credit_line() -> None:
    change("UPDATE trade_creditline SET month = 202610")


MOVED: list[tuple[Callable[[], None], list[str]]] = [
    (
        move_sale,
        [
            "sale S-2026-0001: is of 2026-10-25, its entry was posted on 2026-11-25",
            "month 2026-10: gross sales: 3000 by the papers, 0 by entries",
            "month 2026-11: gross sales: 0 by the papers, 3000 by entries",
        ],
    ),
    (
        move_payment,
        [
            "payment P-2026-0001: is of 2026-10-25, its entry was posted on 2026-11-25",
            "month 2026-10: receipts: 1000 by the papers, 0 by entries",
        ],
    ),
    (
        move_credit_line,
        [
            "credit C-2026-0001, for line 1: counts in 202610",
            "month 2026-10: credits: 3000 by the papers, 0 by entries",
        ],
    ),
]


@pytest.mark.parametrize(("move", "named"), MOVED, ids=[move.__name__ for move, _ in MOVED])
def test_what_moved_to_another_month_is_named(
    sale: Sale, move: Callable[[], None], named: list[str]
) -> None:
    assert not list(differences())
    move()
    told = [str(one) for one in differences()]
    for text in named:
        assert any(one.startswith(text) for one in told), told
