"""Sales tax, against the rule of the Streamlined Sales and Use Tax Agreement.

Section 324, as enacted in R.I. Gen. Laws 44-18.1-25, N.D. Cent. Code
57-39.4-25 and Kan. Stat. 79-3676 (read on 25 November 2026): carry the tax to
the third decimal place, round up when that place is greater than four.
"""

from decimal import ROUND_DOWN, Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.base.rules.money import parse_amount
from fraginv.base.rules.tax import Basis, tax_due, tax_on_lines

rates = st.integers(0, 200_000).map(lambda millionths: Decimal(millionths) / 1_000_000)
amounts = st.integers(0, 10**7)
bases = st.sampled_from(get_args(Basis))


def cents(text: str) -> int:
    return parse_amount(text, currency="USD")


def percent(text: str) -> Decimal:
    return Decimal(text) / 100


def by_the_statute(taxable: int, rate: Decimal) -> int:
    """Work out the tax as the statute words it, step by step."""
    exact = Decimal(taxable) / 100 * rate
    to_third = exact.quantize(Decimal("0.001"), ROUND_DOWN)
    whole, third = divmod(int(to_third * 1000), 10)
    return whole + (third > 4)


# Computed from section 324; the comment is the trap that a row catches.
@pytest.mark.parametrize(
    ("taxable", "rate", "due"),
    [
        ("0.07", "7", "0.00"),  # a tiny sale owes nothing
        ("0.64", "7", "0.04"),  # rounding twice would give 0.05
        ("0.65", "7", "0.05"),  # plain case
        ("0.08", "6.25", "0.01"),  # an exact half goes up
        ("1.00", "4.5", "0.05"),  # banker's rounding would give 0.04
        ("1.00", "6.5", "0.07"),  # banker's rounding would give 0.06
        ("10.00", "6.25", "0.63"),  # a binary float with round() gives 0.62
        ("12.50", "6.6", "0.83"),  # banker's rounding would give 0.82
        ("7.00", "6.35", "0.44"),  # rounding twice gives 0.45
        ("5.80", "8.875", "0.51"),  # rounding twice gives 0.52
        ("0.99", "5.5", "0.05"),  # plain down
        ("14.99", "6.35", "0.95"),  # plain down
        ("19.99", "8.75", "1.75"),  # plain up
        ("49.95", "7", "3.50"),  # carries into the next dime
        ("49.95", "8.25", "4.12"),  # plain down
    ],
)
def test_tax_due_at_the_boundaries(taxable: str, rate: str, due: str) -> None:
    assert tax_due(cents(taxable), percent(rate)) == cents(due)
    assert by_the_statute(cents(taxable), percent(rate)) == cents(due)


@given(amounts, rates)
def test_tax_due_is_what_the_statute_words(taxable: int, rate: Decimal) -> None:
    assert tax_due(taxable, rate) == by_the_statute(taxable, rate)


@given(amounts, rates)
def test_tax_on_a_credit_mirrors_the_sale(taxable: int, rate: Decimal) -> None:
    assert tax_due(-taxable, rate) == -tax_due(taxable, rate)


# Computed from section 324: the seller may elect either basis.
@pytest.mark.parametrize(
    ("lines", "rate", "by_item", "by_invoice"),
    [
        (["1.00"] * 3, "6.5", "0.21", "0.20"),
        (["15.50"] * 2, "7", "2.18", "2.17"),
        (["24.95"] * 3, "7", "5.25", "5.24"),
        (["35.00", "22.50", "12.25"], "7", "4.89", "4.88"),
        (["20.05", "30.05"], "6", "3.00", "3.01"),
        (["0.07"] * 10, "7", "0.00", "0.05"),
        (["12.99"] * 2, "8.25", "2.14", "2.14"),
    ],
)
def test_item_basis_against_invoice_basis(
    lines: list[str], rate: str, by_item: str, by_invoice: str
) -> None:
    taxable = [cents(line) for line in lines]
    assert sum(tax_on_lines(taxable, percent(rate), basis="item")) == cents(by_item)
    assert sum(tax_on_lines(taxable, percent(rate), basis="invoice")) == cents(by_invoice)


def test_one_combined_rate_is_not_two_rates_rounded_apart() -> None:
    # Section 324: rounding may be applied once to the combined state and local tax.
    assert tax_due(1020, percent("7.5")) == 77
    assert tax_due(1020, percent("6")) + tax_due(1020, percent("1.5")) == 76


@pytest.mark.parametrize(
    ("taxable", "rate", "due"),
    [
        # OpenStax, Principles of Accounting, volume 1, section 12.2: cash 19,080.00.
        ("18000.00", "6", "1080.00"),
        # The same, section 12.1: collected 54.00.
        ("50.00", "8", "4.00"),
        # The same, data of the exercises of chapter 12 (answers computed).
        ("450.00", "3.5", "15.75"),
        ("500.00", "3.5", "17.50"),
        ("2880.00", "4", "115.20"),
        ("4900.00", "4", "196.00"),
        ("750.00", "8", "60.00"),
        ("3500.00", "6.5", "227.50"),
    ],
)
def test_tax_due_in_published_examples(taxable: str, rate: str, due: str) -> None:
    assert tax_due(cents(taxable), percent(rate)) == cents(due)


def test_tax_of_the_exercises_on_both_bases() -> None:
    # OpenStax, Principles of Accounting, volume 1, exercises of chapter 12: 450 and 500 at
    # 3.5 %; 24 x 120 and 35 x 140 at 4 % (answers computed).
    for basis in get_args(Basis):
        assert tax_on_lines([45000, 50000], percent("3.5"), basis=basis) == [1575, 1750]
        lines = [24 * 12000, 35 * 14000]
        assert sum(tax_on_lines(lines, percent("4"), basis=basis)) == 31120


@given(st.lists(amounts, max_size=20), rates)
def test_invoice_basis_sums_to_the_tax_of_the_sum(lines: list[int], rate: Decimal) -> None:
    taxes = tax_on_lines(lines, rate, basis="invoice")
    assert len(taxes) == len(lines)
    assert sum(taxes) == tax_due(sum(lines), rate)


@given(st.lists(amounts, max_size=20), rates, bases)
def test_a_line_of_nothing_owes_nothing(lines: list[int], rate: Decimal, basis: Basis) -> None:
    for amount, tax in zip(lines, tax_on_lines(lines, rate, basis=basis), strict=True):
        assert tax >= 0
        assert amount or not tax


@pytest.mark.parametrize("rate", ["6.25", "-0.01", "NaN", "Infinity", "1.000001"])
def test_a_rate_that_is_no_fraction_is_refused(rate: str) -> None:
    with pytest.raises(InputError, match=r"fraction from 0 to 1, such as 0\.0625 for 6\.25 %"):
        tax_due(100, Decimal(rate))
    with pytest.raises(InputError, match="fraction from 0 to 1"):
        tax_on_lines([100], Decimal(rate), basis="invoice")
