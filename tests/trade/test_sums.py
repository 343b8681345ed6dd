"""What a sale comes to."""

from decimal import Decimal
from typing import Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.trade.rules.sums import Asked, SaleSums, sale_sums


def sums(
    asked: list[Asked],
    *,
    rate: str = "0",
    basis: Literal["item", "invoice"] = "invoice",
    discount: int = 0,
) -> SaleSums:
    return sale_sums(asked, discount=discount, rate=Decimal(rate), basis=basis, currency="USD")


# Streamlined Sales and Use Tax Agreement section 324 (R.I. Gen. Laws 44-18.1-25): tax on the
# exact product, rounded half up once, by item or by invoice. The rows follow from that rule.
BOTH_BASES = [
    ([100] * 3, "0.065", 21, 20),
    ([1550] * 2, "0.07", 218, 217),
    ([2495] * 3, "0.07", 525, 524),
    ([3500, 2250, 1225], "0.07", 489, 488),
    ([2005, 3005], "0.06", 300, 301),
    ([7] * 10, "0.07", 0, 5),
    ([1299] * 2, "0.0825", 214, 214),
]


@pytest.mark.parametrize(("prices", "rate", "by_item", "by_invoice"), BOTH_BASES)
def test_tax_by_item_and_by_invoice(
    prices: list[int], rate: str, by_item: int, by_invoice: int
) -> None:
    asked = [Asked(1, price) for price in prices]
    assert sums(asked, rate=rate, basis="item").tax == by_item
    whole = sums(asked, rate=rate, basis="invoice")
    assert whole.tax == by_invoice == sum(line.tax for line in whole.lines)


# OpenStax, Principles of Accounting vol. 1, sections 12.1 and 12.2 and chapter 12's exercises.
BOOK = [
    ([(1, 1_800_000)], "0.06", 108_000, 1_908_000),
    ([(1, 5_000)], "0.08", 400, 5_400),
    ([(24, 12_000)], "0.04", 11_520, 299_520),
    ([(35, 14_000)], "0.04", 19_600, 509_600),
    ([(30, 2_500)], "0.08", 6_000, 81_000),
    ([(875, 400)], "0.065", 22_750, 372_750),
]


@pytest.mark.parametrize(("lines", "rate", "tax", "total"), BOOK)
def test_examples_of_a_textbook(
    lines: list[tuple[int, int]], rate: str, tax: int, total: int
) -> None:
    found = sums([Asked(*line) for line in lines], rate=rate)
    assert (found.tax, found.total) == (tax, total)


def test_discounts_of_line_and_whole() -> None:
    found = sums(
        [Asked(2, 1000, discount=500), Asked(1, 1500), Asked(1, 0)], discount=1000, rate="0.0625"
    )
    assert [line.discount for line in found.lines] == [1000, 500, 0]
    assert [line.net for line in found.lines] == [1000, 1000, 0]
    assert (found.gross, found.discounts, found.net) == (3500, 1500, 2000)
    assert (found.tax, found.total) == (125, 2125)


@pytest.mark.parametrize(
    ("asked", "discount", "says"),
    [
        ([], 0, "nothing to sell"),
        ([Asked(0, 100)], 0, "Line 1 sells 0 pieces"),
        ([Asked(1, 100), Asked(-2, 100)], 0, "Line 2 sells -2 pieces"),
        ([Asked(1, -1)], 0, "Line 1 has a negative price"),
        ([Asked(1, 100, -1)], 0, "discount on line 1 is negative"),
        ([Asked(1, 100), Asked(2, 100, 201)], 0, "2.01 USD is more than line 2 comes to, 2.00 USD"),
        ([Asked(1, 100, 40)], 61, "0.61 USD is more than the sale comes to, 0.60 USD"),
        ([Asked(1, 100)], -1, "discount on the sale is negative"),
    ],
)
def test_bad_sales_are_refused(asked: list[Asked], discount: int, says: str) -> None:
    with pytest.raises(InputError, match=says):
        sums(asked, discount=discount)


@st.composite
def sales(draw: st.DrawFn) -> dict[str, Any]:
    asked = []
    for _ in range(draw(st.integers(1, 12))):
        quantity, price = draw(st.integers(1, 60)), draw(st.integers(0, 50_000))
        asked.append(Asked(quantity, price, draw(st.integers(0, quantity * price))))
    left = sum(line.quantity * line.unit_price - line.discount for line in asked)
    return {
        "asked": asked,
        "discount": draw(st.integers(0, left)),
        "rate": str(draw(st.decimals(0, 1, places=6))),
        "basis": draw(st.sampled_from(["item", "invoice"])),
    }


@given(sales())
def test_lines_add_up_to_the_sale(sale: dict[str, Any]) -> None:
    found = sums(sale["asked"], discount=sale["discount"], rate=sale["rate"], basis=sale["basis"])
    for column in ("gross", "net", "tax"):
        assert sum(getattr(line, column) for line in found.lines) == getattr(found, column)
    assert sum(line.discount for line in found.lines) == found.discounts
    assert found.net == found.gross - found.discounts
    assert found.total == found.net + found.tax
    for line, asked in zip(found.lines, sale["asked"], strict=True):
        assert asked.discount <= line.discount <= line.gross
        assert line.net >= 0
        assert line.tax >= 0
