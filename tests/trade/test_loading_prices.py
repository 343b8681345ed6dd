"""Bringing in tables of prices."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import read_table
from fraginv.stock.actions.catalogue import add_variety
from fraginv.stock.models import Variety
from fraginv.trade.loading.prices import check, columns, load
from fraginv.trade.models import Price
from fraginv.trade.queries.prices import get_kind, prices_for
from fraginv.trade.rules.prices import Target
from tests.conftest import People
from tests.trade.rows import Shop, open_shop, refused

TABLE = (
    "kind,variety,group,size,unit,amount,first_day\n"
    "retail,Lagoon Ember,,M,,24.00,2026-01-01\n"
    "RETAIL,lagoon  ember,,Mini-colony,piece,80,2026-01-01\n"
    "shop,,zoanthid,,head,1.50,\n"
)

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def shop(people: People) -> Shop:
    shop = open_shop(people)
    add_variety("Lagoon Ember", genus="Zoanthus", by=shop.manager)
    return shop


def bring(text: str, shop: Shop, *, dry_run: bool = False) -> LoadResult:
    return load(read_table(text.encode(), columns=columns()), by=shop.manager, dry_run=dry_run)


def test_prices_hold_from_their_day_on(shop: Shop) -> None:
    assert bring(TABLE, shop, dry_run=True).rows == 3
    assert not Price.objects.exists()
    assert bring(TABLE, shop) == LoadResult(3)
    ember = Variety.objects.get()
    retail = prices_for(get_kind("retail"), day=date(2026, 1, 1)).book
    assert retail[Target(None, ember.pk, "", "M")].amount == 2400
    assert retail[Target(None, ember.pk, "", "mini")].amount == 8000
    # Without a first day a price holds from the day on which it was brought in.
    before, after = (prices_for(get_kind("shop"), day=date(2026, 11, day)).book for day in (24, 25))
    assert (len(before), after[Target(None, None, "zoanthid", "")].unit) == (0, "head")
    assert {price.by for price in Price.objects.all()} == {shop.manager}


def test_what_is_set_already_is_not_set_again(shop: Shop) -> None:
    bring(TABLE, shop)
    changed = TABLE.replace("24.00", "26.00")
    assert bring(changed, shop).said == [
        "Set already as the table has them, and not written again: 2."
    ]
    assert Price.objects.count() == 4
    book = prices_for(get_kind("retail"), day=date(2026, 11, 25)).book
    assert book[Target(None, Variety.objects.get().pk, "", "M")].amount == 2600


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("guest,Lagoon Ember,,,,1,", "kind", "guest is no kind of customer; write one of: retail,"),
        ("retail,Lagoon Embr,,,,1,", "variety", "The nearest is Lagoon Ember. Mend the name, or"),
        ("retail,Lagoon Ember,SPS,,,1,", "variety", "write a variety or a group, and not both"),
        ("retail,,,M,,1,", "variety", "write a variety or a group, and not both"),
        ("retail,,corals,,,1,", "group", "corals is not one of: SPS, LPS, soft"),
        ("retail,,SPS,XL,,1,", "size", "XL is no size; write one of: S, M, L, mini."),
        ("retail,,SPS,,dozen,1,", "unit", "dozen is not one of: piece, head."),
        ("retail,,SPS,,,-1,", "amount", "-1 is less than 0.00"),
        ("retail,,SPS,,,,", "amount", "the cell is empty"),
        ("retail,,SPS,,,1,1926-01-01", "first_day", "1926-01-01 is no day for a price"),
        ("retail,,SPS,,,1,2062-01-01", "first_day", "2062-01-01 is no day for a price"),
        ("retail,,SPS,,,1,\nretail,,sps,,piece,2,", "amount", "2.00 stands against line 2"),
    ],
)
def test_one_bad_row_keeps_all_out(shop: Shop, row: str, column: str, said: str) -> None:
    table = f"{TABLE.splitlines()[0]}\n{row}\nretail,,LPS,,,5,\n"
    with refused(TableErrors, said):
        bring(table, shop)
    with pytest.raises(TableErrors) as caught:
        check(read_table(table.encode(), columns=columns()), by=shop.manager)
    assert [problem.column for problem in caught.value.problems] == [column]
    assert not Price.objects.exists()


def test_statements_do_not_grow_with_the_rows(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(
        f"retail,Lagoon Ember,S,5,{year}-{month:02}-01\n"
        for year in range(2010, 2026)
        for month in range(1, 13)
    )
    # SQLite takes a thousand values in one statement: some 100 prices.
    with django_assert_max_num_queries(10):
        assert bring(f"kind,variety,size,amount,first_day\n{rows}", shop).rows == 192
