"""Bringing in tables of customers."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.founding import add_party
from fraginv.base.models import Party
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import read_table
from fraginv.trade.loading.customers import check, columns, load
from fraginv.trade.models import Customer
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.queries.finding import customers_like
from fraginv.trade.queries.prices import get_kind
from tests.conftest import People
from tests.trade.rows import Shop, open_shop, refused

TABLE = (
    "name,kind,contact,email,phone,address,note,"
    "certificate_state,certificate_number,certificate_from,certificate_until\n"
    'Saltmarsh Corals,shop,Ines Varga,ines@saltmarsh.example,555-0101,"3 Quay Row\nLeam",,'
    "Northmark,NK-4471,2026-01-01,2028-12-31\n"
    "Odd  Fellows' Reef,SHOP,,,,,pays late,,,,\n"
)


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def bring(text: str, shop: Shop, *, dry_run: bool = False) -> LoadResult:
    return load(read_table(text.encode(), columns=columns()), by=shop.manager, dry_run=dry_run)


def test_customers_come_in_with_all_that_is_known_of_them(shop: Shop) -> None:
    assert bring(TABLE, shop, dry_run=True).rows == 2
    assert not Party.objects.exists()
    assert bring(TABLE, shop).rows == 2
    first, second = Customer.objects.select_related("party", "kind").order_by("pk")
    assert (first.party.name, first.kind.name) == ("Saltmarsh Corals", "shop")
    assert (first.party.email, first.party.phone) == ("ines@saltmarsh.example", "555-0101")
    assert first.party.address.splitlines() == ["3 Quay Row", "Leam"]
    assert first.certificate.number == "NK-4471"
    assert first.certificate.valid_until == date(2028, 12, 31)
    assert (second.party.name, second.party.note) == ("Odd Fellows' Reef", "pays late")
    assert list(customers_like("varg")) == [first]
    assert not [*trade_differences()]


def test_who_is_known_as_a_supplier_becomes_a_customer_and_keeps_what_is_written(
    shop: Shop,
) -> None:
    party = add_party("Saltmarsh Corals", phone="555-0199")
    result = bring(TABLE, shop)
    assert result.said == [
        "Known already, and customers too now: Saltmarsh Corals. Their empty details are filled in."
    ]
    customer = Customer.objects.select_related("party").get(party=party)
    assert (customer.party.phone, customer.party.contact) == ("555-0199", "Ines Varga")
    assert Party.objects.count() == 2


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("old  ONE,shop,,,,,,,,,", "name", "old ONE is a customer already; take the row out, or"),
        ("New,shop,,,,,,,,,\nNEW,shop,,,,,,,,,", "name", "NEW stands on line 2 already"),
        ("New,wholesale,,,,,,,,,", "kind", "wholesale is no kind of customer; write one of: retai"),
        ("New,shop,,ines at home,,,,,,,", "email", "ines at home is no e-mail address"),
        ("New,shop,,,,,,Northmark,,,", "certificate_state", "A resale certificate needs its state"),
        ("New,shop,,,,,,N,1,2026-02-01,2026-01-01", "certificate_state", "ends before it begins"),
        ("New,shop,,,,,,N,1,1/2/2026,2027-01-01", "certificate_from", "It may be 2026-01-02 or"),
    ],
)
def test_one_bad_row_keeps_all_out(shop: Shop, row: str, column: str, said: str) -> None:
    shop.customer("Old One")
    table = f"{TABLE.splitlines()[0]}\n{row}\nGood,shop,,,,,,,,,\n"
    with refused(TableErrors, said):
        bring(table, shop)
    with pytest.raises(TableErrors) as caught:
        check(read_table(table.encode(), columns=columns()), by=shop.manager)
    assert [problem.column for problem in caught.value.problems] == [column]
    assert Customer.objects.count() == 1


def test_looking_writes_nothing(shop: Shop) -> None:
    rows = read_table(TABLE.encode(), columns=columns())
    assert check(rows, by=shop.manager) == LoadResult(2)
    assert not Party.objects.exists()


def test_statements_do_not_grow_with_the_rows(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(f"Shop {number},shop\n" for number in range(300))
    # SQLite takes a thousand values in one statement: some 140 parties, 120 customers, 330 words.
    with django_assert_max_num_queries(16):
        assert bring(f"name,kind\n{rows}", shop).rows == 300
    assert Customer.objects.filter(kind=get_kind("shop")).count() == 300
