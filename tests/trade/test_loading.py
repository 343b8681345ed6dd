"""Bringing in tables of sales."""

from datetime import date
from decimal import Decimal
from time import perf_counter

import pytest
from django.db import transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Party
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.columns import column_lines
from fraginv.base.rules.loads import LoadResult
from fraginv.base.tables import TableErrors, read_table
from fraginv.ledger.queries import ledger_differences, trial_balance
from fraginv.reports.queries.entries import report_differences
from fraginv.stock.actions.care import relabel_frag
from fraginv.stock.actions.catalogue import add_variety
from fraginv.stock.queries.differences import stock_differences
from fraginv.trade.loading.sales import columns, load
from fraginv.trade.models import Customer, Payment, Sale, SaleLine
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.queries.months import sales_of_month
from tests.conftest import People
from tests.factories import make_frag, make_lot
from tests.trade.rows import Shop, open_shop, refused

HEADINGS = (
    "day,customer,kind,channel,variety,code,quantity,unit_price,discount,tax_rate,tax,paid,means\n"
)
TABLE = (
    HEADINGS + "2025-12-30,Saltmarsh Corals,shop,order,Lagoon Ember,,10,8.00,5.00,,,,account\n"
    "2025-12-30,saltmarsh corals,,order,Pale Lattice,,2,20.00,,0.0625,,42.50,transfer\n"
    "2026-01-03,,,open day,Lagoon Ember,,1,15.00,,0.0625,,15.94,cash\n"
    "2026-01-03,,retail,open day,Pale Lattice,,1,30.00,,,1.88,31.88,card\n"
    "2026-01-03,,retail,counter,Pale Lattice,,1,30.00,,0.0625,9.99,,\n"
    "2026-01-04,Ines Varga,retail,counter,Lagoon Ember,,3,0.07,,0.07,,,\n"
)

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def shop(people: People) -> Shop:
    shop = open_shop(people)
    add_variety("Lagoon Ember", genus="Zoanthus", by=shop.manager)
    add_variety("Pale Lattice", genus="Acropora", by=shop.manager)
    return shop


def bring(text: str, shop: Shop, *, dry_run: bool = False) -> LoadResult:
    return load(read_table(text.encode(), columns=columns()), by=shop.manager, dry_run=dry_run)


def nothing_differs() -> bool:
    return not [*trade_differences(), *stock_differences(), *ledger_differences()]


def test_columns_are_those_that_are_promised(shop: Shop) -> None:
    assert [column.name for column in columns()] == HEADINGS.strip().split(",")
    optional = [column.name for column in columns() if not column.required]
    assert optional == ["code", "discount", "tax_rate", "tax", "paid", "means"]
    assert len(column_lines(columns())) == 13


def test_lines_of_one_day_customer_and_channel_make_one_sale(shop: Shop) -> None:
    result = bring(TABLE, shop)
    assert result.rows == 6
    assert result.said == [
        "Customers made: 2, Saltmarsh Corals, Ines Varga.",
        "Sales written: 4, IS-2025-0001 to IS-2026-0003.",
    ]
    sales = list(Sale.objects.order_by("pk"))
    assert [sale.paper for sale in sales] == [
        "IS-2025-0001",
        "IS-2026-0001",
        "IS-2026-0002",
        "IS-2026-0003",
    ]
    assert [(sale.net, sale.tax, sale.total) for sale in sales] == [
        (11500, 250, 11750),
        (4500, 282, 4782),
        (3000, 999, 3999),
        (21, 1, 22),
    ]
    assert [sale.balance.owed for sale in sales] == [7500, 0, 3999, 22]
    assert [sale.tax_rate for sale in sales] == [None, None, None, Decimal("0.07")]
    assert all(sale.imported for sale in sales)
    first = sales[0]
    assert first.customer is not None
    assert (first.customer.kind.name, first.kind.name) == ("shop", "shop")
    assert (first.customer.party.name, sales[1].customer) == ("Saltmarsh Corals", None)
    assert [payment.paper for payment in Payment.objects.all()] == [
        "IP-2025-0001",
        "IP-2026-0001",
        "IP-2026-0002",
    ]
    assert nothing_differs()


def test_month_of_what_was_loaded(shop: Shop) -> None:
    bring(TABLE, shop)
    found = sales_of_month(202601)
    assert (found.gross, found.discounts, found.net) == (7521, 0, 7521)
    assert found.by_channel == {"open day": 4500, "counter": 3021}
    assert found.by_group == {"zoanthid": 1521, "SPS": 6000}
    assert found.tax_collected == 282 + 999 + 1
    assert found.receipts_by_means == {"cash": 1594, "card": 3188}
    assert found.sold == 6
    cash = sales_of_month(202601, basis="cash")
    assert (cash.net, cash.tax_collected) == (4500, 282)


def test_row_with_a_code_sells_that_frags_pieces(shop: Shop) -> None:
    lot = make_lot(shop.manager, 30, ready=True)
    name, code = lot.variety.name, show_code(lot.code_id)
    bring(HEADINGS + f"2026-11-25,,retail,counter,{name},{code},4,10,,,,,\n", shop)
    lot.refresh_from_db()
    assert (lot.pieces, lot.free) == (26, 26)
    line = SaleLine.objects.get()
    assert (line.frag_id, line.size) == (lot.pk, "M")
    assert line.text == f"{name}, size M ({code})"
    assert nothing_differs()


def test_row_with_the_code_that_a_frag_had_before(shop: Shop) -> None:
    lot = make_lot(shop.manager, 30, ready=True)
    now = relabel_frag(relabel_frag(lot.pk, by=shop.manager).pk, by=shop.manager)
    row = f"2026-11-25,,retail,counter,{lot.variety.name},{show_code(lot.code_id)},4,10,,,,,\n"
    bring(HEADINGS + row, shop)
    line = SaleLine.objects.get()
    assert (line.frag_id, line.frag.pieces if line.frag else 0) == (lot.pk, 26)
    assert show_code(now.code_id) in line.text
    assert nothing_differs()


def test_dry_run_leaves_nothing(shop: Shop) -> None:
    lot = make_lot(shop.manager, 30, ready=True)
    more = f"2026-11-25,,retail,counter,{lot.variety.name},{lot.code_id},4,10,,,,,\n"
    result = bring(TABLE + more, shop, dry_run=True)
    assert result.rows == 7
    assert not Sale.objects.exists()
    assert not Customer.objects.exists()
    lot.refresh_from_db()
    assert lot.free == 30
    assert bring(TABLE, shop).said[-1].endswith("IS-2025-0001 to IS-2026-0003.")


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("2026-11-26,,,counter,Lagoon Ember,,1,1,,,,,", "day", "is in the future"),
        ("1889-11-26,,,counter,Lagoon Ember,,1,1,,,,,", "day", "look at the year"),
        ("26/11/2026,,,counter,Lagoon Ember,,1,1,,,,,", "day", "write it as in"),
        (
            "2026-11-25,,,market,Lagoon Ember,,1,1,,,,,",
            "channel",
            "counter, open day, order, other",
        ),
        ("2026-11-25,,trade,counter,Lagoon Ember,,1,1,,,,,", "kind", "retail, shop, staff"),
        ("2026-11-25,Someone New,,counter,Lagoon Ember,,1,1,,,,,", "kind", "is a new customer"),
        ("2026-11-25,,,counter,Lagon Embr,,1,1,,,,,", "variety", "The nearest is Lagoon Ember"),
        ("2026-11-25,,,counter,Lagoon Ember,7K3-Q9F-2,1,1,,,,,", "code", "wrong"),
        ("2026-11-25,,,counter,Lagoon Ember,,0,1,,,,,", "quantity", "is not from 1 to"),
        ("2026-11-25,,,counter,Lagoon Ember,,1.5,1,,,,,", "quantity", "not a whole number"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,-1,,,,,", "unit_price", "less than 0.00"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,,,,,,", "unit_price", "the cell is empty"),
        ('2026-11-25,,,counter,Lagoon Ember,,1,"1,250",,,,,', "unit_price", "thousands"),
        ("2026-11-25,,,counter,Lagoon Ember,,2,1,2.01,,,,", "discount", "more than the line"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,1,,6.25,,,", "tax_rate", "fraction from 0 to 1"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,1,,,1.01,,", "tax", "more than the line"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,1,,0.0625,,1.07,cash", "paid", "comes to 1.06"),
        ("2026-11-25,,,counter,Lagoon Ember,,1,1,,,,1,gold", "means", "cash, card, transfer"),
        ("2026-11-25,=1+1,,counter,Lagoon Ember,,1,1,,,,,", "customer", "starts like a formula"),
        ("2026-11-25,,,counter,Lagoon Ember,,9999,9999999999.99,,,,,", "unit_price", "more than"),
    ],
)
def test_bad_row_is_named_with_line_column_and_reason(
    shop: Shop, row: str, column: str, reason: str
) -> None:
    with pytest.raises(TableErrors) as caught, transaction.atomic():
        bring(f"{TABLE}{row}\n", shop)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (8, column)
    assert reason in problem.reason
    assert not Sale.objects.exists()
    assert not Party.objects.exists()


def test_every_bad_row_is_named(shop: Shop) -> None:
    rows = [
        "2026-11-25,,,counter,Lagon Embr,,1,1,,,,,",
        "2026-11-25,,,counter,Lagoon Ember,,1,1,,,,,",
        "2026-11-26,,odd,counter,Pale Latice,,1,1,2,,,,",
    ]
    with refused(TableErrors, "5 problems"):
        bring(HEADINGS + "\n".join(rows), shop)


def test_code_of_another_variety_or_of_pieces_that_are_gone(shop: Shop) -> None:
    lot = make_lot(shop.manager, 3, ready=True)
    young = make_frag(shop.manager)
    rows = [
        f"2026-11-25,,,counter,Lagoon Ember,{lot.code_id},1,1,,,,,",
        f"2026-11-25,,,counter,{lot.variety.name},{lot.code_id},2,1,,,,,",
    ]
    with refused(TableErrors, f"is {lot.variety.name}, not Lagoon Ember"):
        bring(HEADINGS + rows[0], shop)
    with refused(TableErrors, "line 3, code: .* has 1 living pieces, not 2"):
        bring(HEADINGS + f"{rows[1]}\n{rows[1]}", shop)
    with refused(TableErrors, "line 2, code: .* still healing"):
        bring(
            HEADINGS + f"2026-11-25,,,counter,{young.variety.name},{young.code_id},1,1,,,,,", shop
        )
    lot.refresh_from_db()
    assert lot.free == 3


def test_payments_are_taken_as_written_and_said(shop: Shop) -> None:
    rows = [
        "2026-11-24,,,counter,Lagoon Ember,,1,10,,,,4,",
        "2026-11-24,,,counter,Lagoon Ember,,1,10,,,,6,cheque",
        "2026-11-25,,,counter,Lagoon Ember,,1,10,,,,,card",
        "2026-11-25,Eastquay,shop,counter,Lagoon Ember,,1,10,,,,,account",
    ]
    said = bring(HEADINGS + "\n".join(rows), shop).said
    assert said[-2:] == [
        "Rows with an amount paid and no means: 1; they count as cash.",
        "Rows with a means and no amount paid: 1; nothing counts as received for them.",
    ]
    assert list(Payment.objects.values_list("means", "amount")) == [("cash", 400), ("cheque", 600)]
    assert nothing_differs()


def test_money_from_an_account_of_before_stands_against_the_opening_balances(shop: Shop) -> None:
    rows = [
        "2026-11-24,Eastquay,shop,order,Lagoon Ember,,3,10,,,,20.00,account",
        "2026-11-25,Eastquay,shop,order,Pale Lattice,,1,10,,,,,account",
    ]
    said = bring(HEADINGS + "\n".join(rows), shop).said
    assert said[-1] == (
        "Rows with an amount paid from an account: 1; they spent a credit from before the records "
        "began, so they stand against the opening balances, account 3000."
    )
    totals = {row.code: row.total for row in trial_balance(202611).rows}
    assert totals == {"1100": 2000, "3000": 2000, "4010": -1000, "4040": -3000}
    assert Customer.objects.get().credit == 0
    assert [sale.balance.owed for sale in Sale.objects.order_by("pk")] == [1000, 1000]
    assert nothing_differs()
    assert not list(report_differences())


def test_many_unknown_names_are_told_in_seconds(shop: Shop) -> None:
    for number in range(60):
        add_variety(f"Pier Moss {number}", genus="Zoanthus", by=shop.manager)
    rows = [f"2026-11-24,,,counter,Nobody's Coral {number},,1,10,,,,," for number in range(3_000)]
    rows[0] = "2026-11-24,,,counter,Pier Mos 7,,1,10,,,,,"
    started = perf_counter()
    with pytest.raises(TableErrors) as caught:
        bring(HEADINGS + "\n".join(rows), shop)
    assert perf_counter() - started < 5
    reasons = [problem.reason for problem in caught.value.problems]
    assert len(reasons) == 3_000
    assert "The nearest is Pier Moss 7. Mend the name" in reasons[0]
    assert reasons[-1] == (
        "Nobody's Coral 2999 is not a known variety. Mend the name, or load the variety first."
    )


def test_known_customers_are_used_and_parties_of_that_name_become_customers(shop: Shop) -> None:
    known = shop.customer("Saltmarsh Corals")
    party = Party.objects.create(name="Ines Varga")
    bring(TABLE, shop)
    assert set(Customer.objects.values_list("pk", "party__name")) >= {
        (known.pk, "Saltmarsh Corals")
    }
    assert Customer.objects.get(party=party).sales.count() == 1
    assert Customer.objects.count() == 2


def test_statements_grow_with_batches_and_not_with_rows(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    def table(count: int) -> str:
        rows = (
            f"{date(2026, 1 + number % 9, 1 + number % 28)},Shop {number % 7},shop,order,"
            f"Lagoon Ember,,2,10,,0.0625,,21.25,card\n"
            for number in range(count)
        )
        return HEADINGS + "".join(rows)

    with django_assert_max_num_queries(60):
        bring(table(10), shop)
    with django_assert_max_num_queries(110):
        bring(table(500), shop)
    assert nothing_differs()
