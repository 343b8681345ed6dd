"""Papers against entries: they agree after any life, and a planted fault is named."""

from collections.abc import Iterator

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from fraginv.costs.queries import cost_differences
from fraginv.ledger.models import Line
from fraginv.ledger.rules import DISCOUNTS, SALES_TAX
from fraginv.reports.queries.entries import (
    month_differences,
    months_written,
    report_differences,
    same_from_entries,
    same_from_papers,
)
from fraginv.reports.queries.months import month_figures
from fraginv.trade.models import SaleLine
from fraginv.trade.queries.differences import trade_differences
from tests.conftest import People
from tests.reports.rows import NOVEMBER, Story, bill, november
from tests.trade.rows import Shop, open_shop

MONTHS = (202608, 202609, 202610)


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with november():
        yield open_shop(people)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_papers_and_entries_agree_after_a_random_life(shop: Shop, seed: int) -> None:
    Story(shop, seed=seed).live(*MONTHS, steps=14)
    assert [*report_differences(), *trade_differences(), *cost_differences()] == []
    assert set(months_written()) <= {*MONTHS, NOVEMBER}
    moved = 0
    for month in months_written():
        entries = same_from_entries(month)
        assert entries == same_from_papers(month)
        figures = month_figures(month)
        assert (figures.net, figures.tax_collected) == (entries.net, entries.sales_tax)
        assert (figures.receipts, figures.running) == (entries.receipts, entries.running_costs)
        assert figures.direct == entries.direct_costs
        assert figures.in_kind + figures.in_kind_direct == entries.given_in_kind
        moved += abs(entries.net) + entries.running_costs + abs(entries.receipts)
    assert moved


def plant(model: type, change: str, where: str) -> None:
    """Change a row behind the project's back."""
    table = model._meta.db_table  # type: ignore[attr-defined]
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE {table} SET {change} WHERE {where}")
        assert cursor.rowcount == 1


def said(month: int = NOVEMBER) -> list[str]:
    """Return what is said to disagree in a month."""
    return [f"{one.where}: {one.what}" for one in month_differences(month)]


def test_a_changed_entry_is_named_with_both_amounts(shop: Shop) -> None:
    shop.sell(shop.priced_lot(30, price=1_000), 8)
    bill(shop, 40_000)
    assert said() == []
    plant(Line, "amount = amount + 1", f"account_id = '{SALES_TAX}'")
    assert said() == ["month 2026-11: sales tax: 500 by the papers, 499 by entries"]
    plant(Line, "amount = 39000", "amount = 40000")
    assert "month 2026-11: running costs: 40000 by the papers, 39000 by entries" in said()


def test_a_changed_paper_is_named(shop: Shop) -> None:
    shop.sell(shop.priced_lot(30, price=1_000), 8, discount=100)
    assert same_from_entries(NOVEMBER).discounts == 100
    plant(SaleLine, "month = 202610", "1 = 1")
    found = list(report_differences())
    assert {one.where for one in found} == {"month 2026-10", "month 2026-11"}
    assert "discounts: 0 by the papers, 100 by entries" in {one.what for one in found}
    assert Line.objects.filter(account=DISCOUNTS).count() == 1


def test_a_month_is_compared_in_eight_statements(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    Story(shop, seed=5).live(202610)
    with django_assert_max_num_queries(8):
        assert list(month_differences(202610)) == []
