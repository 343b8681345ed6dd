"""Money as whole minor units."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.base.rules.money import (
    LARGEST,
    decimal_text,
    exponent,
    multiply,
    parse_amount,
    round_half_up,
    split_by_largest_remainder,
)

currencies = st.sampled_from(["USD", "EUR", "GBP", "JPY", "KWD"])
kept = st.integers(-LARGEST, LARGEST)
totals = st.integers(-(10**7), 10**7)
weights = st.lists(st.integers(0, 10**6), min_size=1, max_size=30)


# ISO 4217, list of currencies (read in an open data copy on 25 November 2026).
@pytest.mark.parametrize(
    ("currency", "digits"),
    [
        ("USD", 2),
        ("EUR", 2),
        ("GBP", 2),
        ("CAD", 2),
        ("AUD", 2),
        ("CHF", 2),
        ("JPY", 0),
        ("KWD", 3),
    ],
)
def test_exponent_of_currencies(currency: str, digits: int) -> None:
    assert exponent(currency) == digits


@pytest.mark.parametrize("currency", ["ZZZ", "usd", "", "US dollar"])
def test_exponent_refuses_what_is_no_currency(currency: str) -> None:
    with pytest.raises(InputError, match="is not a currency; write its three-letter code"):
        exponent(currency)


def test_exponent_refuses_gold() -> None:
    with pytest.raises(InputError, match="XAU has no minor unit"):
        exponent("XAU")


@pytest.mark.parametrize(
    ("text", "currency", "minor"),
    [
        ("12.50", "USD", 1250),
        ("12.5", "USD", 1250),
        ("12", "USD", 1200),
        (" 0.07 ", "USD", 7),
        (".07", "USD", 7),
        ("-3.5", "USD", -350),
        ("+3.5", "USD", 350),
        ("0012.50", "USD", 1250),
        ("-0", "USD", 0),
        ("1250", "JPY", 1250),
        ("1.250", "KWD", 1250),
        ("10000000000.00", "USD", LARGEST),
        ("000000000000000000001.00", "USD", 100),
    ],
)
def test_parse_amount(text: str, currency: str, minor: int) -> None:
    assert parse_amount(text, currency=currency) == minor


THOUSANDS = "has thousands separators; write it without separators:"
COMMA = "has a comma; write the decimals after a point, as in 12.50."
NAMED = "has a currency sign or letters; write the number alone, as in 12.50."
NONE = "is not an amount; write a decimal number, such as 12.50."


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1,250.00", f"1,250.00 {THOUSANDS} 1250.00."),
        ("1,250", f"1,250 {THOUSANDS} 1250."),
        ("1.250,00", f"1.250,00 {THOUSANDS} 1250.00."),
        ("1 250.00", f"1 250.00 {THOUSANDS} 1250.00."),
        ("1\u202f250,00", f"1\u202f250,00 {THOUSANDS} 1250.00."),
        ("1'250.00", f"1'250.00 {THOUSANDS} 1250.00."),
        ("-1_000", f"-1_000 {THOUSANDS} -1000."),
        ("12,50", f"12,50 {COMMA}"),
        ("$12.50", f"$12.50 {NAMED}"),
        ("-$5", f"-$5 {NAMED}"),
        ("€1,000.00", f"€1,000.00 {NAMED}"),
        ("12.50 USD", f"12.50 USD {NAMED}"),
        ("1,234,567.8", f"1,234,567.8 {THOUSANDS} 1234567.8."),
        ("1,234.567.890", f"1,234.567.890 {NONE}"),
        ("12 %", "12 % is a share; write amounts only, no percent, as in 12.50."),
        ("10%", "10% is a share; write amounts only, no percent, as in 12.50."),
        ("", "The amount is empty; write a decimal number, such as 12.50."),
        ("  ", "The amount is empty; write a decimal number, such as 12.50."),
        ("NaN", f"NaN {NONE}"),
        ("inf", f"inf {NONE}"),
        ("-Infinity", f"-Infinity {NONE}"),
        ("1e3", f"1e3 {NONE}"),
        ("0x10", f"0x10 {NONE}"),
        ("--5", f"--5 {NONE}"),
        ("1.2.3", f"1.2.3 {NONE}"),
        ("-", f"- {NONE}"),
        (".", f". {NONE}"),
        ("12.", f"12. {NONE}"),
        ("twelve", f"twelve {NONE}"),
        ("\u0661\u0662", f"\u0661\u0662 {NONE}"),
        ("(5.00)", f"(5.00) {NAMED}"),
        ("12.505", "12.505 has too many decimals; USD has 2."),
        ("12.500", "12.500 has too many decimals; USD has 2."),
        ("10000000000.01", "10000000000.01 is too large; the most that can be kept is 10000000000"),
        ("-10000000000.01", "-10000000000.01 is too large; the most that can be kept is"),
        ("9" * 5000, f"{'9' * 40} is too large; the most that can be kept is 10000000000.00."),
    ],
)
def test_parse_amount_says_what_to_write_instead(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_amount(text, currency="USD")
    assert caught.value.message.startswith(message)


def test_parse_amount_refuses_decimals_that_the_currency_has_not() -> None:
    with pytest.raises(InputError, match=r"12\.5 has decimals, but JPY has none"):
        parse_amount("12.5", currency="JPY")
    with pytest.raises(InputError, match=r"1\.2505 has too many decimals; KWD has 3"):
        parse_amount("1.2505", currency="KWD")


@given(st.text(max_size=20))
def test_parse_amount_answers_any_text(text: str) -> None:
    try:
        minor = parse_amount(text, currency="USD")
    except InputError:
        return
    assert Decimal(text.strip()) * 100 == minor


@given(kept, currencies)
def test_decimal_text_is_read_back(minor: int, currency: str) -> None:
    text = decimal_text(minor, currency=currency)
    assert parse_amount(text, currency=currency) == minor
    assert Decimal(text).scaleb(exponent(currency)) == minor


@pytest.mark.parametrize(
    ("minor", "currency", "text"),
    [
        (0, "USD", "0.00"),
        (7, "USD", "0.07"),
        (-7, "USD", "-0.07"),
        (1250, "USD", "12.50"),
        (-1250, "JPY", "-1250"),
        (5, "KWD", "0.005"),
    ],
)
def test_decimal_text(minor: int, currency: str, text: str) -> None:
    assert decimal_text(minor, currency=currency) == text


@pytest.mark.parametrize(
    ("value", "whole"),
    [
        ("0.5", 1),
        ("1.5", 2),
        ("2.5", 3),
        ("0.4999999999999999999999", 0),
        ("-0.5", -1),
        ("-2.5", -3),
        ("-2.4", -2),
        ("0", 0),
    ],
)
def test_round_half_up(value: str, whole: int) -> None:
    assert round_half_up(Decimal(value)) == whole
    assert round_half_up(Fraction(value)) == whole


@given(st.decimals(-(10**9), 10**9, allow_nan=False, places=7))
def test_round_half_up_agrees_with_the_decimal_library(value: Decimal) -> None:
    assert round_half_up(value) == int(value.quantize(Decimal(1), ROUND_HALF_UP))


def test_multiply_rounds_the_exact_product_once() -> None:
    # 10.00 at 6.25 % is 0.625 exactly: a binary float with round() gives 0.62.
    assert multiply(1000, Decimal("0.0625")) == 63
    assert multiply(-1000, Decimal("0.0625")) == -63
    assert multiply(LARGEST, Decimal("0.123456789012345678901234567890123")) == 123456789012


def test_split_shares_a_delivery_charge_by_value() -> None:
    # Illinois Department of Revenue, Q&A 785 (bulletin FY 2010-17): items of 95 and 60,
    # delivery 10. The exact shares are 6.13 and 3.87; the state's 6.10 and 3.90 come of
    # rounding the percentages first.
    assert split_by_largest_remainder(1000, [9500, 6000]) == [613, 387]


def test_split_finds_the_taxable_third_of_a_delivery_fee() -> None:
    # California CDTFA, annotation 557.0111 under Regulation 1628: of an order of 15.00,
    # 5.00 is taxable; one third of a fee of 3.50 is taxable (1.17 computed).
    assert split_by_largest_remainder(350, [1000, 500]) == [233, 117]


@pytest.mark.parametrize(
    ("total", "over", "parts"),
    [
        (100, [1, 1, 1], [34, 33, 33]),
        (-100, [1, 1, 1], [-34, -33, -33]),
        (2, [1, 1, 1], [1, 1, 0]),
        (5, [0, 1, 0], [0, 5, 0]),
        (0, [0, 0], [0, 0]),
        (0, [], []),
    ],
)
def test_split_by_largest_remainder(total: int, over: list[int], parts: list[int]) -> None:
    assert split_by_largest_remainder(total, over) == parts


@given(totals, weights.filter(any))
def test_split_parts_sum_to_the_whole_and_are_nearly_exact(total: int, over: list[int]) -> None:
    parts = split_by_largest_remainder(total, over)
    assert sum(parts) == total
    for part, weight in zip(parts, over, strict=True):
        assert abs(part - Fraction(total * weight, sum(over))) < 1


@given(totals, weights.filter(any))
def test_split_of_a_credit_mirrors_the_sale(total: int, over: list[int]) -> None:
    mirrored = [-part for part in split_by_largest_remainder(total, over)]
    assert split_by_largest_remainder(-total, over) == mirrored


def test_split_refuses_what_cannot_be_split() -> None:
    with pytest.raises(InputError, match="there is nothing to split it over"):
        split_by_largest_remainder(1, [0, 0])
    with pytest.raises(InputError, match="one is negative"):
        split_by_largest_remainder(1, [2, -1])
