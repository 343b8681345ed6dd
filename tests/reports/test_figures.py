"""What a month comes to: sums, shares, and the document that others read."""

from decimal import ROUND_HALF_UP, Decimal, localcontext
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fraginv.reports.rules.figures import (
    FragFigures,
    MonthFigures,
    largest_first,
    month_document,
    share_of,
    share_text,
)
from fraginv.reports.rules.rows import HEADINGS, month_rows

AMOUNTS = st.integers(min_value=-(10**12), max_value=10**12)
COSTS = st.integers(min_value=1, max_value=10**12)


def figures(**overrides: Any) -> MonthFigures:
    """Return a month with one sale and one bill, or as given."""
    fields: dict[str, Any] = {
        "month": 202611,
        "currency": "USD",
        "basis": "sales",
        "gross": 50_000,
        "discounts": 2_000,
        "credits": 3_000,
        "by_channel": {"counter": 45_000},
        "by_group": {"SPS": 40_000, "zoanthid": 5_000},
        "tax_collected": 2_813,
        "receipts_by_means": {"cash": 20_000, "card": 10_000},
        "running_by_kind": {"electricity": 120_000, "salt": 60_000},
        "direct_by_kind": {"plugs": 9_000},
        "in_kind": 7_000,
        "in_kind_direct": 500,
        "owed_to_owners": 0,
        "frags": FragFigures(cut=12, lost=1, lost_at_bench=2, sold=9, ready_at_end=40),
    }
    return MonthFigures(**(fields | overrides))


def test_a_month_adds_up() -> None:
    month = figures()
    assert month.net == 50_000 - 2_000 - 3_000
    assert month.receipts == 30_000
    assert (month.running, month.direct) == (180_000, 9_000)
    assert month.result == 45_000 - 9_000 - 180_000
    assert month.share_carried == Decimal("0.2500")
    assert month.share_carried_net == Decimal("0.2000")


@pytest.mark.parametrize(
    ("part", "whole", "text"),
    [
        pytest.param(1, 3, "0.3333", id="down"),
        pytest.param(2, 3, "0.6667", id="up"),
        pytest.param(1, 20_000, "0.0001", id="an exact half goes up"),
        pytest.param(3, 20_000, "0.0002", id="a half to even would stay at 0.0002 or go to 0.0001"),
        pytest.param(5, 20_000, "0.0003", id="a half to even would go down"),
        pytest.param(-1, 20_000, "-0.0001", id="a credit mirrors its sale"),
        pytest.param(0, 5, "0.0000", id="nothing sold"),
        pytest.param(7, 2, "3.5000", id="more than all"),
        pytest.param(0, 0, None, id="no costs, nothing sold"),
        pytest.param(9, 0, None, id="no costs"),
    ],
)
def test_shares_have_four_decimals_half_up(part: int, whole: int, text: str | None) -> None:
    assert share_text(share_of(part, whole=whole)) == text


@given(AMOUNTS, COSTS)
@example(1, 20_000)
def test_shares_agree_with_decimal_rounding(part: int, whole: int) -> None:
    """Python's decimal ROUND_HALF_UP is the reference.

    Sixty digits tell every quotient of such numbers from a half.
    """
    share = share_of(part, whole=whole)
    with localcontext(prec=60):
        exact = Decimal(part) / Decimal(whole)
        assert share == exact.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP)
    assert str(share) == share_text(share)


def test_the_document_has_the_keys_that_others_rely_on() -> None:
    document = month_document(figures())
    assert list(document) == [
        "month",
        "currency",
        "basis",
        "income",
        "tax_collected",
        "receipts",
        "running_costs",
        "direct_costs",
        "share_carried",
        "share_carried_net",
        "result",
        "owed_to_owners",
        "frags",
    ]
    assert {key: sorted(value) for key, value in document.items() if isinstance(value, dict)} == {
        "income": ["by_channel", "by_group", "credits", "discounts", "gross", "net"],
        "receipts": ["by_means", "total"],
        "running_costs": ["by_kind", "in_kind", "metered", "total"],
        "direct_costs": ["by_kind", "total"],
        "frags": ["cut", "lost", "ready_at_end", "sold"],
    }
    assert (document["month"], document["share_carried"]) == ("2026-11", "0.2500")


def test_without_costs_the_document_says_null() -> None:
    document = month_document(figures(running_by_kind={}))
    assert (document["share_carried"], document["share_carried_net"]) == (None, None)


@pytest.mark.parametrize(
    ("overrides", "empty"),
    [
        pytest.param({}, False, id="full"),
        pytest.param({"gross": 0, "credits": 1}, False, id="a credit alone"),
        pytest.param({"in_kind": 1}, False, id="a gift alone"),
        pytest.param({"receipts_by_means": {"cash": 5}}, False, id="a payment alone"),
        pytest.param({"running_by_kind": {"salt": 1}}, False, id="a bill alone"),
        pytest.param({"frags": FragFigures(cut=4, ready_at_end=9)}, True, id="only stock"),
    ],
)
def test_a_month_is_empty_without_money(overrides: dict[str, Any], empty: bool) -> None:
    nothing: dict[str, Any] = {
        "gross": 0,
        "discounts": 0,
        "credits": 0,
        "receipts_by_means": {},
        "running_by_kind": {},
        "direct_by_kind": {},
        "in_kind": 0,
        "in_kind_direct": 0,
        "frags": FragFigures(),
    }
    month = figures(**(nothing | overrides)) if overrides else figures()
    assert month.is_empty is empty


def test_the_table_holds_every_figure_once() -> None:
    rows = month_rows(figures())
    assert all(len(row) == len(HEADINGS) for row in rows)
    assert len({row[:4] for row in rows}) == len(rows)
    values = {(row[2], row[3]): row[4] for row in rows}
    assert values["income", "net"] == Decimal("450.00")
    assert values["running costs by kind", "salt"] == Decimal("600.00")
    assert values["share carried", "after direct costs"] == Decimal("0.2000")
    assert values["frags", "lost at the bench"] == 2
    by_group = sum(row[4] for row in rows if row[2] == "income by group")
    assert by_group == values["income", "net"]


def test_the_table_of_a_currency_without_decimals_has_none() -> None:
    values = {row[3]: row[4] for row in month_rows(figures(currency="JPY"))}
    assert str(values["gross"]) == "50000"


def test_the_table_leaves_out_a_share_that_is_not_there() -> None:
    assert not [row for row in month_rows(figures(running_by_kind={})) if row[2] == "share carried"]


@given(st.dictionaries(st.text(max_size=6), AMOUNTS, max_size=20), st.integers(1, 12))
def test_folding_small_rows_keeps_the_total(amounts: dict[str, int], most: int) -> None:
    rows = largest_first(amounts, most=most)
    assert len(rows) <= most
    assert sum(amount for _, amount in rows) == sum(amounts.values())


def test_the_largest_rows_come_first_and_the_rest_is_one() -> None:
    rows = largest_first({"a": 1, "b": 5, "c": 3, "d": 2}, most=3)
    assert rows == [("b", 5), ("c", 3), ("2 others", 3)]
    assert largest_first({"a": 1, "b": 5}, most=3) == [("b", 5), ("a", 1)]
